"""Sample sheets and the scorer."""
