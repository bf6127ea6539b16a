"""Redraw: geometry for CAD. As drawn (`trace`), and as dimensioned (`part`), where agreed dimensions hold exactly.

In: `Strokes`, `Reconciled`, a `digitize.report.frame.Frame` and perhaps a `GearFinding`. Out: DXF files and a
`report.PartReport` that says what was closed, which dimensions were used, and what was left out and why.
"""
