"""Blocks to readings: crops, the readers, and what is read again where the first reading is in doubt."""
