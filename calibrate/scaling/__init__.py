"""How large the sheet is drawn: witnesses of the scale, and the robust fit to lengths."""
