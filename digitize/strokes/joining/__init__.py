"""Pieces of one pen line found again: across gaps, crossings and dashes, and where they end."""
