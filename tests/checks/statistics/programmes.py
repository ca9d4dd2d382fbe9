"""Simulated test-build programmes with known truth, in half-bands; nothing here is shared with the model.

Good builds scatter by 0.15 to 0.35 half-bands about a figure that is right within 0.1. A wrong figure is one half-band
off; two batches lie 1.3 apart; a wrong build is 3 to 10 off; where the band is too tight, good builds scatter by one
half-band.
"""

import numpy as np


class Programme:
    def __init__(self, seed: int):
        self.random = np.random.default_rng(seed)

    def good(self, n):
        return self.random.normal(self.random.normal(0, 0.1), self.random.uniform(0.15, 0.35), n)

    def wide(self, scatter, n):
        """As `draw`, of a check that fits and whose good builds scatter so much."""
        random = self.random
        return random.normal(random.normal(0, 0.1), scatter, n), random.binomial(n, 0.03), random.poisson(0.05)

    def draw(self, kind: str, n: int):
        """(deviations, builds that came right, snags) of one check over n builds."""
        random = self.random
        if kind == "figure off":
            return random.normal(random.choice([-1, 1]), random.uniform(0.15, 0.3), n), 0, 0
        if kind == "band too tight":
            return random.normal(0, 1.0, n), 0, 0
        if kind == "part batch":
            least = max(2, int(0.3 * n))
            d = random.normal(0, 0.2, n)
            d[: random.integers(least, n - least + 1)] += 1.3 * random.choice([-1, 1])
            return d, 0, 0
        if kind == "single builds":
            d, k = self.good(n), random.integers(1, 3 if n >= 6 else 2)
            d[:k] = random.choice([-1, 1], k) * random.uniform(3, 10, k)
            return d, 0, 0
        if kind == "step unclear":
            return self.good(n), max(2, random.binomial(n, 0.45)), random.poisson(1.5)
        return self.good(n), random.binomial(n, 0.03), random.poisson(0.05)
