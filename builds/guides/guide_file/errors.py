"""What is wrong with a guide file, line by line."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Trouble:
    """One thing to mend: the line (0 when it is nowhere in particular), the key, and what is accepted."""

    line: int
    key: str
    message: str

    def __str__(self):
        where = f"line {self.line}, " if self.line else ""
        return f"{where}{self.key}: {self.message}"


class GuideErrors(ValueError):
    """Everything found wrong at once, so that a designer mends it in one go."""

    def __init__(self, troubles):
        self.troubles = tuple(troubles)
        super().__init__("; ".join(str(t) for t in self.troubles))
