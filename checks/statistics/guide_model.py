"""What the checks of one guide teach each other: how widely its good builds scatter, how often each explanation holds,
and which recorded labels (batches, makes of valve, meters, mains) part its builds.

Empirical Bayes: each check brings a table of log likelihoods (Likelihoods). The shares of the explanations, of the
spreads and of the labels are those under which all tables together are likely, drawn towards what is usual by pseudo
counts (expectation and maximisation: Dempster, Laird and Rubin, J. R. Stat. Soc. B 39:1, 1977). A check is then judged
by the shares that the other checks give, so that no check is evidence twice.
"""

from dataclasses import asdict, dataclass

import numpy as np

from checks.statistics import explanations
from checks.statistics.explanations import SPREADS, Sample
from checks.statistics.logs import log_sum
from checks.statistics.rework import Rework, learn_rate, log_likelihood

# of an explanation's rows in a table: a batch that a label names, and one that none does, are two
ROWS = (
    "fits",
    "figure off",
    "band too tight",
    "label",
    "part batch",
    "single builds",
    "several builds",
    "step unclear",
)
USUAL = np.array((0.77, 0.055, 0.05, 0.035, 0.02, 0.04, 0.005, 0.025))  # shares where no check has said anything
SHARES_WORTH, SPREADS_WORTH, LABELS_WORTH = 8.0, 4.0, 1.0  # checks that what is usual counts for
USUAL_SPREAD, USUAL_SPREAD_LOG_SD = 0.25, 0.6
ROUNDS, SETTLED = 60, 1e-4
IMPOSSIBLE, KEPT_PLACES = -1e6, 6  # log likelihood of what cannot be; decimals of those that are kept
LABEL = ROWS.index("label")
TIGHT = ROWS.index("band too tight")


@dataclass(frozen=True)
class Likelihoods:
    """One check's log likelihoods: `rows` (explanations but for labels, spreads), `labels` (labels, spreads)."""

    rows: np.ndarray
    labels: np.ndarray
    names: tuple[str, ...]
    rework: Rework

    def as_dict(self) -> dict:
        tables = {"rows": self.rows.tolist(), "labels": self.labels.tolist()}
        return tables | {"names": list(self.names), "rework": asdict(self.rework)}

    @classmethod
    def from_dict(cls, kept: dict) -> "Likelihoods":
        labels = np.array(kept["labels"], dtype=float).reshape(-1, len(SPREADS))
        return cls(np.array(kept["rows"], dtype=float), labels, tuple(kept["names"]), Rework(**kept["rework"]))


@dataclass(frozen=True)
class Posterior:
    """Of one check: the probability of each row, and of each label given that a label parts the builds."""

    rows: dict[str, float]
    labels: dict[str, float]


def likelihoods(s: Sample, names: tuple[str, ...], rework: Rework) -> Likelihoods:
    """The table of one check."""
    good = explanations.fits(s)
    rows = {
        "fits": good,
        "figure off": explanations.off(s),
        "band too tight": explanations.too_tight(s),
        "part batch": explanations.batches(s),
        "single builds": explanations.singles(s),
        "several builds": explanations.several(s),
        "step unclear": good,
    }
    table = np.full((len(ROWS), len(SPREADS)), IMPOSSIBLE)
    for name, row in rows.items():
        table[ROWS.index(name)] = np.maximum(row, IMPOSSIBLE)
    if not names:  # a batch that would have a label, had any been recorded
        table[LABEL] = table[ROWS.index("part batch")]
    labels = np.maximum(explanations.labelled(s), IMPOSSIBLE) if names else np.empty((0, len(SPREADS)))
    return Likelihoods(table.round(KEPT_PLACES), labels.round(KEPT_PLACES), names, rework)


def _usual_spreads() -> np.ndarray:
    weights = np.exp(-0.5 * (np.log(SPREADS / USUAL_SPREAD) / USUAL_SPREAD_LOG_SD) ** 2) * np.gradient(np.log(SPREADS))
    return weights / weights.sum()


def posteriors(tables: list[Likelihoods]) -> list[Posterior]:
    """Each check's, in the light of the others."""
    if not tables:
        return []
    names = sorted({name for table in tables for name in table.names})
    rows, labels = _stacked(tables, names)
    own, rework = _learn(rows, labels, [table.rework for table in tables])
    shares, spreads, of_labels = _others(*own)
    joint, by_label = _joint(rows, labels, rework, shares, spreads, of_labels)
    whole = log_sum(joint.reshape(len(joint), -1), axis=1)[:, None, None]
    each = np.exp(log_sum(joint - whole, axis=2))
    by_row = np.exp(by_label - log_sum(by_label, axis=1)[:, None]) if names else by_label
    return [
        Posterior(
            dict(zip(ROWS, each[i].tolist(), strict=True)),
            {name: float(by_row[i, names.index(name)]) for name in table.names},
        )
        for i, table in enumerate(tables)
    ]


def _stacked(tables, names):
    rows = np.array([table.rows for table in tables])
    labels = np.full((len(tables), len(names), len(SPREADS)), IMPOSSIBLE)
    for i, table in enumerate(tables):
        for name, row in zip(table.names, table.labels, strict=True):
            labels[i, names.index(name)] = row
    return rows, labels


def _learn(rows, labels, reworks):
    """Responsibilities of every check, (checks, rows), (checks, spreads), (checks, labels), and the log likelihoods of
    its rework."""
    n = len(rows)
    of_rows, of_spreads = np.tile(USUAL, (n, 1)), np.tile(_usual_spreads(), (n, 1))
    of_labels = np.full((n, labels.shape[1]), 1 / max(1, labels.shape[1])) * USUAL[LABEL]
    rework = _of_rework(reworks, of_rows)
    for _ in range(ROUNDS):
        joint, by_label = _joint(rows, labels, rework, *_all(of_rows, of_spreads, of_labels))
        whole = log_sum(joint.reshape(len(joint), -1), axis=1)[:, None, None]
        joint = np.exp(joint - whole)
        now = joint.sum(axis=2)
        missing = joint[:, np.arange(len(ROWS)) != TIGHT].sum(axis=1)
        moved = np.abs(now.sum(axis=0) - of_rows.sum(axis=0)).max()
        of_rows, of_spreads, of_labels = now, missing, np.exp(by_label - whole[:, :, 0])
        rework = _of_rework(reworks, of_rows)
        if moved < SETTLED * n:
            break
    return (of_rows, of_spreads, of_labels), rework


def _of_rework(reworks, of_rows) -> np.ndarray:
    """(checks, rows)"""
    rate = learn_rate(reworks, of_rows[:, 0])
    logs = {t: [log_likelihood(t, name, rate) for name in ROWS] for t in set(reworks)}
    return np.array([logs[t] for t in reworks])


def _pseudo(count: int):
    return SHARES_WORTH * USUAL, SPREADS_WORTH * _usual_spreads(), np.full(count, LABELS_WORTH / max(1, count))


def _all(of_rows, of_spreads, of_labels):
    """Log shares that all checks give, one row for each."""
    return tuple(
        np.log((p + r.sum(axis=0)) / (p.sum() + r.sum()))[None] if len(p) else np.zeros((1, 0))
        for p, r in zip(_pseudo(of_labels.shape[1]), (of_rows, of_spreads, of_labels), strict=True)
    )


def _others(of_rows, of_spreads, of_labels):
    """Log shares that all the other checks give, for every check."""
    totals = []
    for p, r in zip(_pseudo(of_labels.shape[1]), (of_rows, of_spreads, of_labels), strict=True):
        left = p + r.sum(axis=0) - r
        totals.append(np.log(left / left.sum(axis=1, keepdims=True)))
    return tuple(totals)


def _joint(rows, labels, rework, shares, spreads, of_labels):
    """Log of (checks, rows, spreads), and of (checks, labels)."""
    joint = rows + spreads[:, None, :]
    by_label = labels + spreads[:, None, :] + of_labels[:, :, None]
    if labels.shape[1]:
        joint[:, LABEL] = np.where(
            labels.max(axis=(1, 2))[:, None] > IMPOSSIBLE, log_sum(by_label, axis=1), joint[:, LABEL]
        )
    joint = joint + (shares + rework)[:, :, None]
    if not labels.shape[1]:
        return joint, np.zeros((len(rows), 0))
    by_label = log_sum(by_label, axis=2) + (shares + rework)[:, LABEL, None]
    return joint, by_label
