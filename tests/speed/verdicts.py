"""Time of 120,000 verdicts at once, as the dashboard asks for them: python -m tests.speed.verdicts"""

import statistics
import time

import numpy as np

from checks.band import Band
from checks.meter import Measurement
from checks.verdict import judge, judge_many

BUILDS, CHECKS = 1000, 120


def main():
    random = np.random.default_rng(1)
    centre = random.uniform(1, 400, CHECKS)
    values = centre * random.normal(1, 0.05, (BUILDS, CHECKS))
    values[random.random(values.shape) < 0.01] = np.nan  # over range
    u, low, high = 0.005 * centre, 0.92 * centre, 1.08 * centre
    times = []
    for _ in range(7):
        start = time.perf_counter()
        codes, _p = judge_many(values, u, low, high, -np.inf, 1.2 * centre)
        times.append(time.perf_counter() - start)
    many = statistics.median(times)
    band, one = Band(0.92, 1.08, 1.0, stop_above=1.2), Measurement(1.03, 0.005, 1.03)
    start = time.perf_counter()
    for _ in range(2000):
        judge(one, band)
    single = (time.perf_counter() - start) / 2000
    print(
        f"{values.size:,} verdicts in {many * 1000:.0f} ms (goal 500 ms); one at a time would take "
        f"{single * values.size:.1f} s, ratio {single * values.size / many:.0f}"
    )
    print(
        "in band, too close, out of band, switch off: "
        + ", ".join(f"{n:,}" for n in np.bincount(codes.ravel(), minlength=4))
    )


if __name__ == "__main__":
    main()
