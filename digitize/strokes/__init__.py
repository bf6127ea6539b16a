"""Ink to strokes: centre lines with width, arrowheads, line roles, views.

In: a `calibrate.sheet.LevelSheet` and the mask of its lettering. Out: `primitives.Strokes`.
"""
