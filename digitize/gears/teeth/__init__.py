"""The form of the teeth: involute and composite flanks, roots, mesh, inspection sizes, and outlines as arcs."""
