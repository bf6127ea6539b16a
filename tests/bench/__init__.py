"""Timed and scored runs on sample sheets; never part of the test command."""
