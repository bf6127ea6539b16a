"""Solids of plates, turned parts and spur gears, as far as the views give their sizes."""
