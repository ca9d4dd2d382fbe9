"""The one family of errors that checks/ raises."""


class ChecksError(ValueError):
    """A value that cannot be used. `str(error)` is a sentence for the person who gave it.

    `argument` names what was wrong, `code` is a short slug that tests and pages may compare.
    """

    def __init__(self, message: str, *, argument: str = "", code: str = "invalid"):
        super().__init__(message)
        self.argument = argument
        self.code = code
