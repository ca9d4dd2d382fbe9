"""What is wrong with a guide file, line by line."""

from dataclasses import dataclass

from django.utils.translation import gettext as _


@dataclass(frozen=True)
class FileProblem:
    """One thing to mend: the line (0 when it is nowhere in particular), the key, and what is accepted."""

    line: int
    key: str
    message: str

    def __str__(self):
        parts = {"line": self.line, "key": self.key, "message": self.message}
        return _("line %(line)d, %(key)s: %(message)s") % parts if self.line else f"{self.key}: {self.message}"


class GuideErrors(ValueError):
    """Everything found wrong at once, so that a designer mends it in one go."""

    def __init__(self, problems):
        self.problems = tuple(problems)
        super().__init__("; ".join(str(t) for t in self.problems))
