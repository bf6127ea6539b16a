"""`part.dxf`: the part as dimensioned."""
