"""What follows from the witnesses: a state for each value, its grounds in words, and what the sheet lacks."""
