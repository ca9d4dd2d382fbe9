"""What stops a whole file from being read; what is wrong with one row is told with the row (table.py)."""


class UnreadableFile(ValueError):
    """Why an uploaded file cannot be read, as a sentence."""
