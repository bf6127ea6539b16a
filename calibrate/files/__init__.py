"""Files of all kinds to one page image, and whether it can hold one drawing."""
