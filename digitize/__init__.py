"""Sheet to geometry, dimensions, gear, DXF and table."""
