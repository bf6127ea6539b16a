"""The gear desk: which tooth system, what teeth, how to inspect them.

In: teeth, diameters, depths and other evidence (`evidence.Evidence`). Out: `finding.GearFinding` from
`identify.identify`, true involute outlines from `arcs.teeth_in_arcs` and `arcs.bore_in_arcs`, sizes to inspect by from
`inspection`.

The road through the package::

    systems.toml, pitches.csv --systems, cuts--> cuts (a system at a pitch)
    evidence --hypotheses--> every cut and tooth number, weighed --identify--> finding
                             --separate--> what to measure next
    cut and teeth --tooth (composite)--> curves --arcs--> closed outline --gear_drawing--> DXF
                  --inspection--> bench sizes --bench_sheet--> PDF (bench_pdf), HTML (bench_html)
    cut, body, duty --lewis, strength--> what breaks first --sacrifice--> whether it is the teeth, and what changes it
    what is typed --options, lengths, typed, body, desk, command--> ``digitize gear``
    what a print leaves open --open_facts--> options of ``digitize sheet`` --typed--> evidence
    a print's agreed gear --of_print--> what to type at the desk

How to add a tooth system
-------------------------
1. Add one ``[[system]]`` table to ``systems.toml``: ``id``, ``name``, ``kind``, ``unit`` ("1/P" or "m"), pressure
   angle, ``addendum``, ``dedendum``, ``clearance``, ``whole_depth``, ``od_formula``, ``era``, ``met``, ``source``,
   ``provenance``, ``note``; ``rack_fillet_radius`` where the standard gives one; ``addendum_p`` and ``dedendum_p`` if
   it goes by circular pitch. ``source`` holds ids of ``digitize/standards/sources.csv``: add the citation there, and
   say ``memory`` unless you have the text before you.
2. If it has pitches of its own, add rows to ``pitches.csv``.
3. If a word on prints names it, add a ``[[system_word]]`` to ``words.toml``.
4. Run ``pytest tests/digitize/gears``: heights, clearance and undercut limit are checked against each other, the
   outline is generated, and no other system's claims may be upset. Add a published size of such a gear to
   ``tests/digitize/gears/check_values.csv`` with its source.
No code changes unless its flank is no involute; then ``form`` says so: cast teeth are ranked but not drawn, composite
ones are drawn by ``composite``.

How to add a material
---------------------
Add one ``[[material]]`` table to ``strength.toml``: ``id``, ``name``, ``words`` a person may type, ``family``,
``safe_stress_psi``, ``source``, ``provenance``, ``note``.
"""
