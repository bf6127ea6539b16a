"""Lettering: find it, read it, and parse what it says.

In: a `calibrate.sheet.LevelSheet`. Out: `text.Lettering` (blocks, before reading), `text.Text` (readings with
probabilities) and, through the grammar, `text.Callout` (typed values). Finder, reader and grammar meet only here.
"""
