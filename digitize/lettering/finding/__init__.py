"""Lettering told from linework: parts, clusters, rows, and the rivals of a doubtful parting."""
