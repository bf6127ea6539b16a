"""The command `digitize gear`: what is typed, what is answered, the sheet for the bench."""
