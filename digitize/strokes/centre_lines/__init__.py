"""From ink to centre lines: chains one pixel wide, moved to where the pen ran, cut into lines and circles."""
