"""What each stroke is for: edge, hatch, dimension, frame, break or tape; with its pen and its view."""
