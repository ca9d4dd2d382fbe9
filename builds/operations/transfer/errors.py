"""What is said when a kit cannot travel."""


class TransferError(Exception):
    """A kit that cannot be written or read in, with a sentence for people."""
