"""Many rows changed at once, judged by the rules of the guide file before anything is saved."""

from dataclasses import dataclass

from builds.guides.guide_file.walk import Problem, Walker


@dataclass(frozen=True)
class Verdict:
    """`own` problems lie in rows that were changed; `dangers` are new ones elsewhere, and could hurt a builder."""

    own: tuple[Problem, ...]
    dangers: tuple[Problem, ...]

    @property
    def is_good(self) -> bool:
        return not (self.own or self.dangers)


def judge_tables(before: dict, after: dict, pictures: frozenset[str], changed: set[tuple[str, int]]) -> Verdict:
    """The problems that a change of whole tables makes; `changed` rows as the walker counts them ("part", 4)."""
    old = {(p.label, p.message) for p in Walker(before, pictures).problems()}
    problems = list(Walker(after, pictures).problems())
    own = tuple(p for p in problems if p.place.row in changed)
    rest = (p for p in problems if p.place.row not in changed and p.is_danger and (p.label, p.message) not in old)
    return Verdict(own, tuple(rest))


def changed_rows(table: str, before: list[dict], after: list[dict], key: str) -> set[tuple[str, int]]:
    """Which rows of `after` are new or say something else than before."""
    old = {row.get(key): row for row in before}
    return {(table, n) for n, row in enumerate(after) if old.get(row.get(key)) != row}
