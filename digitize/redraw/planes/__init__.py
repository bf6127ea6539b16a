"""Strokes of one view as a plane graph, mended where the trace lost or doubled an edge, and its closed outlines."""
