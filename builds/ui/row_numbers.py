"""Row numbers as they come back from a form: whatever else was sent there is no row's number."""

DIGITS = 15  # more digits than any row number has, fewer than a database refuses


def row_number(typed: str) -> int:
    """The row's number, or 0, which no row has, for anything but a few plain digits."""
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) <= DIGITS else 0
