"""What speaks for a value and against it: geometry, chains, tables, other views, gear data, tolerances of notes."""
