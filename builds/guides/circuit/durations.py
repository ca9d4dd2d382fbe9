"""How long each step of computing a guide's figures took, in seconds of one core."""

import time
from collections.abc import Callable

SLOW = 10.0  # s; a designer who waits longer is shown what took them


class Durations:
    """Stands between the computation and whoever is shown its progress."""

    def __init__(self, report: Callable):
        self._report, self._begun = report, [("begin", 0, time.process_time())]

    def report(self, done: int, total: int, step: str = "rest", number: int = 0, **params) -> None:
        self._begun.append((step, number, time.process_time()))
        more = {"number": number, **params} if number else params
        self._report(done, total, "" if step == "rest" else step, **more)

    def rows(self) -> list[list]:
        """[step, number, seconds], the slowest first."""
        ends = [at for _step, _number, at in self._begun[1:]] + [time.process_time()]
        took = [(end - at, step, number) for (step, number, at), end in zip(self._begun, ends, strict=True)]
        took.sort(key=lambda row: -row[0])
        return [[step, number, round(seconds, 2)] for seconds, step, number in took]


def slow_rows(detail: dict) -> list[list]:
    """The rows of figures that took long; none of figures made quickly, or before this was noted."""
    rows = detail.get("took", [])
    return rows if sum(row[2] for row in rows) > SLOW else []
