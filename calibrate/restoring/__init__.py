"""A page image to dark ink on light, even paper."""
