"""What one check's builds say: the evidence that a finding is made of."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from checks.errors import CallerError
from checks.finite import finite_figures, refuse_unreal
from checks.statistics import guide_model
from checks.statistics.explanations import Sample
from checks.statistics.rework import Rework
from checks.statistics.summary import MAD_TO_SD

LEAST_SPREAD = 0.45  # robust, half-bands, from which builds that miss on one side alone show a band too tight
FEWEST_FOR_SPREAD = 5
GOOD_METERS = 0.012  # standard deviation of what good hand-held meters read too high, as a ratio; common practice
COMMON = 0.004  # ratio by which all builds may read a right figure too high: warm copper, mains, meters of one make
OWN_OF_RANGE = (
    0.5  # share of a meter's uncertainty that is a range's own, and none of what it reads too high everywhere
)
LEAST_CARRIED = 0.3  # half-bands that meters spread builds by, from which their band has to hold that too
FEWEST = 3  # builds below which nothing is weighed
FEWEST_IN_GROUP = 2  # builds of a label's group that is set against the rest


class Reference(StrEnum):
    """What deviations are counted from."""

    FIGURE = "figure"
    MIDDLE = "middle"


@dataclass(frozen=True)
class Label:
    """Something recorded that parts builds in groups; `groups` beside the deviations, "" where nothing was noted."""

    name: str
    groups: tuple[str, ...]


@dataclass(frozen=True)
class Evidence:
    """One check over its builds: last `deviations` (n,), the meter's uncertainty in half-bands, how many builds missed
    at first and came right, and snags about it. `one_sided`: the check has one limit, at 1 or -1, and no figure in the
    middle. `reference`: what the deviations are counted from. `over`: builds beside them that were over range
    where less was wanted; of those it is only known that they lie past the upper limit. `builds`: whose the deviations
    are; `quantity`: what was measured; `reach`: the check's figure in half-bands; `effects`: (build, the ratio by which
    it reads all checks of the quantity too high), from build_effects.py."""

    deviations: tuple[float, ...]
    u: float = 0.0
    came_right: int = 0
    snags: int = 0
    one_sided: bool = False
    reference: Reference = Reference.FIGURE
    over: int = 0
    labels: tuple[Label, ...] = ()
    builds: tuple[int, ...] = ()
    quantity: str = ""
    reach: float = 0.0
    effects: tuple[tuple[int, float], ...] = ()

    @property
    def n(self) -> int:
        return len(self.deviations) + self.over

    @property
    def misses(self) -> int:
        return self.over + int((np.abs(self.deviations) > 1).sum())

    @property
    def settled(self) -> tuple[float, ...]:
        """The deviations without what their builds read too high on all checks."""
        if not self.effects:
            return self.deviations
        ratios = dict(self.effects)
        return tuple(d - ratios.get(b, 0.0) * self.reach for d, b in zip(self.deviations, self.builds, strict=True))

    @property
    def left_of_u(self) -> float:
        """The meter's uncertainty, without what its builds are known to read too high or too low everywhere."""
        known = {build for build, _ in self.effects}.issuperset(self.builds)
        return self.u * OWN_OF_RANGE if known and self.effects else self.u

    @property
    def carried(self) -> float:
        """Half-bands by which the builds' meters and supplies spread what is read here: no more than good meters may,
        since a band is not for others, and as one of several may be far off."""
        if not self.effects:
            return 0.0
        off = np.abs(np.subtract(self.deviations, self.settled))
        return float(min(np.sqrt((off**2).mean()), MAD_TO_SD * np.median(off), GOOD_METERS * abs(self.reach)))

    @property
    def explained(self) -> int:
        """Builds that miss the check by no more than they read too high or too low everywhere."""
        if not self.effects:
            return 0
        return int(((np.abs(self.deviations) > 1) & (np.abs(self.settled) <= 1)).sum())

    def __post_init__(self):
        if not np.isfinite(self.deviations).all() or self.over < 0:
            raise CallerError("Deviations are finite numbers; over range is counted apart.", argument="deviations")
        refuse_unreal(self, "u", least=0)
        refuse_unreal(self, "reach")
        if self.builds and len(self.builds) != len(self.deviations):
            raise CallerError("Every deviation needs its build.", argument="builds")
        if not 0 <= self.came_right <= self.n or self.snags < 0 or self.u < 0:
            raise CallerError(
                "Counts and uncertainties are zero or more, and no more builds came right than there are.",
                argument="came_right",
            )
        if any(len(label.groups) != len(self.deviations) for label in self.labels):
            raise CallerError("Every deviation needs its group.", argument="labels")


@finite_figures
@dataclass(frozen=True)
class WeighedEvidence:
    """What of a check's evidence its guide's findings are made of; small, so that it can be kept. `likelihoods`: None
    for fewer than FEWEST builds."""

    n: int
    misses: int
    over: int
    came_right: int
    snags: int
    one_sided: bool
    reference: str
    shift: float  # median deviation in half-bands
    spread: float  # robust spread in half-bands
    shows_scatter: bool
    likelihoods: guide_model.Likelihoods | None
    explained: int = 0
    effects: tuple[tuple[int, float], ...] = ()

    def as_dict(self) -> dict:
        fields = {name: getattr(self, name) for name in self.__dataclass_fields__}
        return fields | {"likelihoods": self.likelihoods and self.likelihoods.as_dict()}

    @classmethod
    def from_dict(cls, fields: dict) -> "WeighedEvidence":
        table, effects = fields["likelihoods"], tuple((build, ratio) for build, ratio in fields["effects"])
        likelihoods = table and guide_model.Likelihoods.from_dict(table)
        return cls(**{**fields, "likelihoods": likelihoods, "effects": effects})


def weigh_evidence(e: Evidence) -> WeighedEvidence:
    """One check's part of the work, which no other check changes."""
    counts = (e.n, e.misses, e.over, e.came_right, e.snags, e.one_sided, e.reference.value)
    return WeighedEvidence(*counts, *_middle(e), *_weighed(e), e.explained, e.effects)


def _weighed(e: Evidence) -> tuple[bool, guide_model.Likelihoods | None]:
    return (_shows_scatter(e), _likelihoods(e)) if e.n >= FEWEST else (False, None)


def _likelihoods(e: Evidence) -> guide_model.Likelihoods:
    d = _judged_deviations(e)
    order = np.argsort(d, kind="stable")
    splits = {label.name: parts for label in e.labels if (parts := _parts(label.groups, order))}
    sample = Sample(
        d[order],
        e.u if e.one_sided else e.left_of_u,
        e.over,
        tuple(splits.values()),
        0.0 if e.one_sided else COMMON * abs(e.reach),
    )
    rework = Rework(e.n, e.came_right, e.snags)
    return guide_model.likelihoods(sample, tuple(splits), rework, 0.0 if e.one_sided else round(e.carried, 3))


def _parts(groups, order) -> tuple[np.ndarray, ...]:
    """Each group against the rest, where both have a build; two groups are one split."""
    if "" in groups:
        return ()
    named = np.asarray(groups)[order]
    names = sorted(set(groups))
    parts = [named == name for name in names if (named == name).sum() >= FEWEST_IN_GROUP or len(names) == 2]
    return tuple(parts[:1] if len(names) == 2 else parts) if len(names) > 1 else ()


def _judged_deviations(e: Evidence) -> np.ndarray:
    """Deviations as the explanations see them.

    Where a check has only a limit, its builds' own middle takes the place of the figure and its distance from the limit
    that of half a band. Being far inside is nobody's fault, so that side is cut off. Where the middle itself is past
    the limit, it is the limit that is off.
    """
    if not e.one_sided:
        return np.asarray(e.settled, dtype=float)
    d = np.abs(np.asarray(e.deviations, dtype=float))
    middle = float(np.median(np.concatenate((d, np.full(e.over, np.inf)))))
    return d if middle >= 1 else np.clip((d - middle) / (1 - middle), -0.5, None)


def _shows_scatter(e: Evidence) -> bool:
    """Do the builds themselves show a band too tight: misses on both sides, or a spread of five builds or more that no
    two or three of them make? Two wrong builds of three are no scatter."""
    return _is_scattered(e, _judged_deviations(e)) or (e.carried >= LEAST_CARRIED and _is_scattered(e, e.deviations))


def _is_scattered(e: Evidence, deviations) -> bool:
    d = np.concatenate((deviations, np.full(e.over, 9.0)))
    if (d > 1).any() and (d < -1).any():
        return True
    spread = float(np.median(np.abs(d - np.median(d)))) * MAD_TO_SD
    return e.n >= FEWEST_FOR_SPREAD and spread >= LEAST_SPREAD


def _middle(e: Evidence) -> tuple[float, float]:
    """Median and robust spread; a build over range counts as past everything measured."""
    d = np.asarray(e.deviations + (max(1.0, *e.deviations, 0.0),) * e.over)
    shift = float(np.median(d)) if len(d) else 0.0
    return shift, float(np.median(np.abs(d - shift))) * MAD_TO_SD if len(d) else 0.0
