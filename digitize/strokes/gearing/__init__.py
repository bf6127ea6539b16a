"""What a drawn gear shows: its teeth and their flanks; and circles that paper has stretched."""
