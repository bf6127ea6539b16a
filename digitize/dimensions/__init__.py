"""Dimensions: tie each figure to the geometry it measures, and let the witnesses decide what is believed.

In: `Strokes` and `Text`. Out: `table.Reconciled`.
"""
