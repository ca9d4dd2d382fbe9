"""Which function does a kind of work, in which queue, and how long it may take."""

from dataclasses import dataclass

FUNCTIONS: dict = {}
MAIL = "mail"  # a queue of its own: a letter about a stop never waits behind a circuit
# Minutes to wait after each attempt that failed: two days in all, for a mail server that is down over a weekend.
MAIL_WAITS = (1, 5, 15, 60, 180, 360, 720, 1440)


@dataclass(frozen=True)
class Rules:
    queue: str = "default"
    limit: int = 600  # s
    waits: tuple[int, ...] = ()  # min, after each attempt that met a server that is not there


RULES: dict[str, Rules] = {}


def job(kind: str, *, queue: str = "default", limit: int = 600, waits: tuple[int, ...] = ()):
    """Mark a function(report, *args) as what does jobs of `kind`, for `limit` seconds at most. Where there are `waits`,
    an OSError, as of a mail server that cannot be reached, is no end: the job is done again after each of them.

    `report(done, total, code, **params)` says how far it is (codes: ui/messages/progress.py); what it returns (anything
    JSON can hold) is kept as the result. A ChecksError is shown to people as the sentence of its code; any other
    error as "it broke", with the details in the log.
    """

    def mark(function):
        FUNCTIONS[kind] = function
        RULES[kind] = Rules(queue, limit, waits)
        return function

    return mark


def find_rules(kind: str) -> Rules:
    return RULES.get(kind, Rules())
