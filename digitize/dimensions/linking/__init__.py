"""Figures tied to what they measure: spans, leaders, angles, tables, and one assignment of all."""
