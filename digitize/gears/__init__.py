"""The gear desk: which tooth system, what teeth, how to inspect them.

In: teeth, diameters, depths and other evidence. Out: `finding.GearFinding` and true involute outlines.
"""
