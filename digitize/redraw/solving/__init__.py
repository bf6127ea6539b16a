"""Outlines that obey the figures: unknowns, relations, and least squares under what must hold."""
