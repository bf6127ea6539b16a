"""What breaks first: tooth, key, hub; and whether the gear stays the weakest part."""
