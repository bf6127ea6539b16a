"""DXF, SVG and PDF: layers, DIMENSION entities, hatches and blocks."""
