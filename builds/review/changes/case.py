"""One check with all that a suggestion has to fit: what the builds read, what was found to be the cause, what was
decided."""

from dataclasses import dataclass

from builds.guides.models import Check
from builds.review.models import Cause, Decision
from checks.band import Band
from checks.statistics.agreement import Agreement
from checks.statistics.findings import CheckFinding
from checks.statistics.proportions import Share
from checks.statistics.summary import Summary
from checks.statistics.tolerance import Proposal, Withheld


@dataclass(frozen=True)
class Case:
    """`stops`: builds past a stop limit; `danger`: somebody reported danger; `causes`: (a Cause, serial of the build)
    as triaged; `confirmed`: (low or high, words, serials) of causes confirmed at the bench; `out`: serials of builds
    not in band now; `decision`: on the check itself, or None."""

    check: Check
    band: Band | None
    summary: Summary
    sense: CheckFinding
    missed: Share
    proposal: Proposal | Withheld | None
    stops: int = 0
    danger: bool = False
    causes: tuple[tuple[str, str], ...] = ()
    confirmed: tuple[tuple[str, str, tuple[str, ...]], ...] = ()
    out: tuple[str, ...] = ()
    snags: int = 0
    decision: Decision | None = None
    agreement: Agreement | None = None  # of guide, circuit and builds

    def list_serials(self, cause: str) -> tuple[str, ...]:
        return tuple(sorted({serial for confirmed, serial in self.causes if confirmed == cause}))

    @property
    def figure_named(self) -> bool:
        """Did the designer find the guide's figure at fault?"""
        return bool(self.list_serials(Cause.FIGURE))

    @property
    def otherwise_faulty(self) -> set[str]:
        """Builds whose trouble was found to be something else than the guide's figure."""
        faulty = {serial for cause, serial in self.causes if cause not in (Cause.FIGURE, Cause.UNKNOWN)}
        return faulty.union(*(serials for _side, _words, serials in self.confirmed))

    @property
    def is_grave(self) -> bool:
        return self.danger or self.stops > 0

    @property
    def may_change_figures(self) -> bool:
        """May the builds' readings be written into the guide? Not after a stop or danger, unless the figure itself was
        found to be the cause; and a band is never widened for builds that something else was wrong with."""
        if self.sense.kind == "figure off":
            return self.figure_named or not (
                self.is_grave or 2 * len(self.otherwise_faulty) >= max(1, self.missed.successes)
            )
        if self.sense.kind == "band too tight":
            return not (self.is_grave or self.otherwise_faulty) and self.is_wider
        return False

    @property
    def is_wider(self) -> bool:
        """Is the band that the builds ask for wider than the guide's? Always thought so where there is nothing to
        compare."""
        if (
            not isinstance(self.proposal, Proposal)
            or self.band is None
            or self.band.low is None
            or self.band.high is None
        ):
            return True
        return self.proposal.high - self.proposal.low > self.band.high - self.band.low
