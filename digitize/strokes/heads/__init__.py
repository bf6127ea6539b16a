"""Arrowheads in all their forms: filled, open, blank, drawn by hand, ticks and dots."""
