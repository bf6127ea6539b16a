"""Picture to straight, metric sheet.

In: a file with a scan or a photograph of a print. Out: a `LevelSheet`, its grey and ink images upright and level,
with the transforms that lead back to the source pixels.
"""
