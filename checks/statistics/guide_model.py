"""What the checks of one guide teach each other: how widely its good builds scatter, how often each explanation holds,
how often good builds need rework, and which recorded labels (batches, makes of valve, meters, mains) part its builds.

Empirical Bayes: each check brings a table of log likelihoods (Likelihoods). The shares of the explanations and of the
labels are those under which all tables together are likely, drawn towards what is usual by pseudo counts (expectation
and maximisation: Dempster, Laird and Rubin, J. R. Stat. Soc. B 39:1, 1977): first the share of checks with trouble,
then of its kinds among them. The spread of good builds (good_spreads.py) and rework (rework.py) are weighed over grids.
A check is judged by what the other checks give, so that no check is evidence twice.
"""

from dataclasses import asdict, dataclass

import numpy as np
from scipy.special import log_ndtr

from checks.finite import finite_arguments, finite_figures
from checks.statistics import explanations
from checks.statistics.explanations import SPREADS, Sample
from checks.statistics.good_spreads import learn_spreads
from checks.statistics.logs import log_sum
from checks.statistics.rework import GuideRework, Rework

# of an explanation's rows in a table: a batch that a label names, and one that none does, are two; so are good builds
# with and without some that lie farther out
ROWS = (
    "fits",
    "with tails",
    "figure off",
    "band too tight",
    "label",
    "part batch",
    "single builds",
    "several builds",
    "step unclear",
)
USUAL = np.array((0.78, 0.07, 0.03, 0.03, 0.02, 0.008, 0.03, 0.003, 0.03))  # shares where no check has said anything
USUAL /= USUAL.sum()
# of the first round: as many checks with trouble as without, or a build that is off on all checks would be the usual
GOOD = np.isin(ROWS, ("fits", "with tails"))
START = np.where(GOOD, USUAL / USUAL[GOOD].sum(), USUAL / USUAL[~GOOD].sum()) / 2
# checks that what is usual counts for: a fifth of a guide's, since a check that few builds have read leaves its own
# kind open, and shares learnt from such checks feed on themselves
SHARES_WORTH, LABELS_WORTH = 24.0, 1.0
KINDS_WORTH = 10.0  # of checks with trouble: a guide that has much of one kind has rather more of the others too
ROUNDS, SETTLED = 60, 1e-4
IMPOSSIBLE, KEPT_PLACES = -1e6, 6  # log likelihood of what cannot be; decimals of those that are kept
# good builds' whole spread, half-bands, from which their band is rather too narrow than not: it holds nine of ten
NARROW, NARROW_LOG_SD = 0.62, 0.15
LABEL, TIGHT = ROWS.index("label"), ROWS.index("band too tight")
REWORK = np.where(GOOD, 0, np.where(np.isin(ROWS, ("step unclear",)), 1, 2))


@finite_figures
@dataclass(frozen=True)
class Likelihoods:
    """One check's log likelihoods: `rows` (explanations but for labels, spreads), `labels` (labels, spreads).
    `carried`: half-bands by which what the builds read too high or low everywhere spreads them besides."""

    rows: np.ndarray
    labels: np.ndarray
    names: tuple[str, ...]
    rework: Rework
    carried: float = 0.0

    def as_dict(self) -> dict:
        tables = {"rows": self.rows.tolist(), "labels": self.labels.tolist(), "carried": self.carried}
        return tables | {"names": list(self.names), "rework": asdict(self.rework)}

    @classmethod
    def from_dict(cls, table: dict) -> "Likelihoods":
        labels = np.array(table["labels"], dtype=float).reshape(-1, len(SPREADS))
        return cls(
            np.array(table["rows"], dtype=float),
            labels,
            tuple(table["names"]),
            Rework(**table["rework"]),
            table["carried"],
        )


@dataclass(frozen=True)
class Posterior:
    """Of one check: the probability of each row, and of each label given that a label parts the builds."""

    rows: dict[str, float]
    labels: dict[str, float]

    @property
    def fits(self) -> float:
        return self.rows["fits"] + self.rows["with tails"]


@finite_arguments
def likelihoods(s: Sample, names: tuple[str, ...], rework: Rework, carried: float = 0.0) -> Likelihoods:
    """The table of one check."""
    good, tails = explanations.weigh_good(s), explanations.weigh_good_with_tails(s)
    rows = {
        "fits": good,
        "with tails": tails,
        "figure off": explanations.weigh_figure_off(s),
        "band too tight": explanations.weigh_too_tight(s),
        "part batch": explanations.weigh_batches(s),
        "single builds": explanations.weigh_few_wrong(s),
        "several builds": explanations.weigh_many_wrong(s),
        "step unclear": np.logaddexp(good + np.log(0.9), tails + np.log(0.1)),
    }
    table = np.full((len(ROWS), len(SPREADS)), IMPOSSIBLE)
    for name, row in rows.items():
        table[ROWS.index(name)] = np.maximum(row, IMPOSSIBLE)
    if not names:  # a batch that would have a label, had any been recorded
        table[LABEL] = table[ROWS.index("part batch")]
    labels = np.maximum(explanations.weigh_labelled(s), IMPOSSIBLE) if names else np.empty((0, len(SPREADS)))
    return Likelihoods(table.round(KEPT_PLACES), labels.round(KEPT_PLACES), names, rework, carried)


def posteriors(tables: list[Likelihoods]) -> list[Posterior]:
    """Each check's, in the light of the others."""
    if not tables:
        return []
    names = sorted({name for table in tables for name in table.names})
    rows, labels = _stacked(tables, names)
    carried = np.array([table.carried for table in tables])
    joint, by_label = _learn(rows, labels, [table.rework for table in tables], carried)
    shares = _normal(joint, axis=1)
    by_row = _normal(by_label, axis=1) if names else by_label
    return [
        Posterior(
            dict(zip(ROWS, shares[i].tolist(), strict=True)),
            {name: float(by_row[i, names.index(name)]) for name in table.names},
        )
        for i, table in enumerate(tables)
    ]


def _normal(logs, axis: int):
    return np.exp(logs - np.expand_dims(log_sum(logs, axis=axis), axis))


def _stacked(tables, names):
    rows = np.array([table.rows for table in tables])
    labels = np.full((len(tables), len(names), len(SPREADS)), IMPOSSIBLE)
    for i, table in enumerate(tables):
        for name, row in zip(table.names, table.labels, strict=True):
            labels[i, names.index(name)] = row
    return rows, labels


def _learn(rows, labels, reworks, carried) -> tuple[np.ndarray, np.ndarray]:
    """Log of (checks, rows) and of (checks, labels), each check in the light of the others."""
    n, count, rework = len(rows), labels.shape[1], GuideRework(reworks)
    of_rows = np.tile(START, (n, 1))
    of_labels = np.full((n, count), 1 / max(1, count)) * USUAL[LABEL]
    for _ in range(ROUNDS):
        joint, by_label = _judged(rows, labels, rework, of_rows, of_labels)
        whole = log_sum(joint, axis=1)[:, None]
        now = np.exp(joint - whole)
        moved = np.abs(now.sum(axis=0) - of_rows.sum(axis=0)).max()
        of_rows, of_labels = now, np.exp(by_label - whole)
        rework.learn(log_sum(joint[:, GOOD], axis=1) - rework.good, log_sum(joint[:, ~GOOD], axis=1))
        if n == 1 or moved < SETTLED * n:
            break
    joint, by_label = _judged(rows, labels, rework, of_rows, of_labels, _log_held(carried))
    return joint, by_label


def _log_held(carried) -> tuple[np.ndarray, np.ndarray]:
    """(checks, spreads): log shares of bands that hold good builds of a spread, as their meters show them, and of bands
    that do not. A band is for what is read: that it holds the parts is no use where good meters are off by more."""
    off = np.log(np.hypot(SPREADS, carried[:, None]) / NARROW) / NARROW_LOG_SD
    return log_ndtr(-off), log_ndtr(off)


def _judged(rows, labels, rework, of_rows, of_labels, held=None):
    logs = np.stack((rework.good, rework.unclear, rework.other), axis=1)
    weights = _shares(of_rows) + logs[:, REWORK]
    rows, labels = _with_labels(rows, labels, of_labels)
    weighed = rows + weights[:, :, None]
    spreads = learn_spreads(log_sum(np.delete(weighed, TIGHT, axis=1), axis=1), weighed[:, TIGHT, 0])
    whole = weighed + spreads[:, None, :]
    joint = log_sum(whole, axis=2)
    if held is not None:
        joint[:, GOOD] = log_sum(whole[:, GOOD] + held[0][:, None, :], axis=2)
        narrow = log_sum(log_sum(whole[:, GOOD], axis=1) + held[1], axis=1)
        joint[:, TIGHT] = np.logaddexp(joint[:, TIGHT], narrow)
    by_label = log_sum(labels + spreads[:, None, :], axis=2) + weights[:, LABEL, None]
    return joint, by_label


def _with_labels(rows, labels, of_labels):
    """The rows with that of a batch that a label names, and the labels' own with their shares."""
    count = labels.shape[1]
    if not count:
        return rows, labels
    labels = labels + _others(np.full(count, LABELS_WORTH / count), of_labels)[:, :, None]
    has_label = (labels.max(axis=(1, 2)) > IMPOSSIBLE / 2)[:, None]
    rows = rows.copy()
    rows[:, LABEL] = np.where(has_label, log_sum(labels, axis=1), rows[:, LABEL])
    return rows, labels


def _shares(of_rows):
    """Log shares of the rows that all the other checks give, for every check: of those that fit and those that do not,
    and of the kinds of either."""
    both = np.stack([of_rows[:, GOOD].sum(axis=1), of_rows[:, ~GOOD].sum(axis=1)], axis=1)
    whole = _others(SHARES_WORTH * np.array((USUAL[GOOD].sum(), USUAL[~GOOD].sum())), both)
    logs = np.empty_like(of_rows)
    for column, rows, worth in ((0, GOOD, SHARES_WORTH), (1, ~GOOD, KINDS_WORTH)):
        kinds = _others(worth * USUAL[rows] / USUAL[rows].sum(), of_rows[:, rows])
        logs[:, rows] = whole[:, column, None] + kinds
    return logs


def _others(pseudo, responsibilities):
    """Log shares that all the other checks give, for every check."""
    pseudo_counts = pseudo + responsibilities.sum(axis=0) - responsibilities
    return np.log(pseudo_counts / pseudo_counts.sum(axis=1, keepdims=True))
