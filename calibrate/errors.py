"""What can be wrong with an input, each said in one sentence that tells a person what to do."""


class TraceclothError(Exception):
    """Root of every error that is the input's fault, not the program's.

    Its message is one clear sentence: what is wrong, and what to do. The commands print it and end with code 2.
    """


class InputError(TraceclothError, ValueError):
    """The file or page can't be used: truncated, of a wrong kind, locked, empty, too large, not a drawing."""
