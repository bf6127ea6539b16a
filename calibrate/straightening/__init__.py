"""A restored page to a level sheet: perspective, turns, skew, and how it bends."""
