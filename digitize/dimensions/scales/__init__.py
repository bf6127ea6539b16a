"""How each view is drawn: lengths that carry its scale, notes and bars that state it."""
