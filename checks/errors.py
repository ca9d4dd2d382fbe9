"""The one family of errors that checks/ raises."""


class ChecksError(ValueError):
    """A value that cannot be used.

    `code` is a short slug and `params` what it is about: the site makes its sentence from them
    (builds/ui/messages/errors.py). `str(error)` is plain English for developers. `argument` names what was wrong.
    """

    def __init__(self, message: str, *, argument: str = "", code: str = "invalid", **params):
        super().__init__(message)
        self.argument = argument
        self.code = code
        self.params = params


class CallerError(ChecksError):
    """A figure that no person can have entered: forms and guide rules refuse it before, so the program itself handed it
    over. It has no code and no sentence; where one comes to a screen all the same, the log has its text."""
