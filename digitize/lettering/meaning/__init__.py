"""Readings to typed values: phrases, numbers, labels, callouts and notes that govern."""
