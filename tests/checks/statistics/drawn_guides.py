"""Whole guides of checks with known truth, in half-bands; nothing here is shared with the model.

A guide's good builds scatter alike, give or take a fifth; figures are right within 0.1. A wrong figure is one half-band
off or more, two groups of a recorded label lie 1.3 apart, a wrong build is 2 to 10 off, and the builds of a band that
is too tight scatter by 0.8 to 1.6. Beside the labels that part the builds there are others that mean nothing.
"""

import numpy as np

from checks.statistics.evidence import Evidence, Label

FAULTS = ("figure off", "band too tight", "part batch", "single builds", "step unclear")
LABELS = 5


class DrawnGuide:
    def __init__(self, seed: int):
        self.random = np.random.default_rng(seed)

    def draw(self, n: int, checks: int, *, faulty=0.0, spread=None, uneven=0.2, labels=True, tails=None):
        """[(true kind, evidence)]; `tails`: degrees of freedom of Student's t for good builds, normal unless given."""
        random = self.random
        base = random.uniform(0.15, 0.4) if spread is None else spread
        recorded = [tuple(random.choice(["a", "b"], n)) for _ in range(LABELS)]
        rows = []
        for _ in range(checks):
            kind = str(random.choice(FAULTS)) if random.random() < faulty else "fits"
            scatter = base * np.exp(uneven * random.normal())
            noise = random.normal(size=n) if tails is None else random.standard_t(tails, n) * np.sqrt(1 - 2 / tails)
            d, right, snags = self._check(kind, random.normal(0, 0.1) + scatter * noise, recorded)
            given = tuple(Label(f"label {j}", groups) for j, groups in enumerate(recorded)) if labels else ()
            rows.append((kind, Evidence(tuple(d), 0.03, min(right, n), snags, labels=given)))
        return rows

    def _check(self, kind, d, recorded):
        random, n = self.random, len(d)
        right, snags = random.binomial(n, 0.03), random.poisson(0.05)
        if kind == "figure off":
            d = d + random.choice([-1, 1]) * random.choice([1.0, 1.5, 3.0])
        elif kind == "band too tight":
            d = random.normal(0, random.uniform(0.8, 1.6), n)
        elif kind == "part batch":
            parting = [np.array(groups) == "a" for groups in recorded if len(set(groups)) == 2]
            d = d + 1.3 * random.choice([-1, 1]) * (parting[random.integers(len(parting))] if parting else 0)
        elif kind == "single builds":
            wrong = random.choice(n, random.integers(1, 3 if n >= 6 else 2), replace=False)
            d[wrong] = random.choice([-1, 1], len(wrong)) * random.uniform(2, 10, len(wrong))
        elif kind == "step unclear":
            right, snags = max(2, random.binomial(n, 0.45)), random.poisson(1.5)
        return d, right, snags
