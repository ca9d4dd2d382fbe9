"""The review's findings tried on drawn programmes: python -m tests.trials.findings --seed N [--programmes 20]

Every check's rows go through the function that the review calls. Printed for each number of builds: false findings a
programme of 120 checks, and of each true kind how many checks have a finding at all and how many the right one.
"""
# ruff: noqa: T201

import argparse
from collections import Counter

import numpy as np

from tests.trials import programmes as p

SAME = {
    p.CLEAN: "fits",
    p.FIGURE_OFF: "figure off",
    p.TOO_TIGHT: "band too tight",
    p.PART_BATCH: "part batch",
    p.BAD_BUILD: "single builds",
    p.MISREAD: "step unclear",
}
SILENT = ("fits", "not enough")
METER = 0.05  # half-bands of a reading's own uncertainty


def judged(z: float) -> str:
    return "in band" if abs(z) <= 1 else "out of band"


def found_in(programme: p.Programme, check: int) -> str:
    """The kind of finding that the review comes to, in the light of the programme's other checks."""
    return kinds_found(programme)[check]


def kinds_found(programme: p.Programme) -> list[str]:
    """The kind of finding of every check; the labels drawn are recorded."""
    from checks.statistics.findings import find_many

    return [result.kind for result in find_many([_evidence(programme, n) for n in range(len(programme.checks))])]


def _evidence(programme: p.Programme, check: int):
    from builds.review.proposals import Row, gather_evidence
    from checks.band import Band

    known = programme.checks[check]
    rows = [
        Row(
            check,
            build,
            len(attempts),
            judged(attempts[0]),
            judged(attempts[-1]),
            attempts[-1],
            METER * known.half_band,
            programme.values(check, build)[-1],
        )
        for build, attempts in enumerate(programme.deviations[check])
    ]
    names = programme.labels[0] if programme.labels else {}
    labels = {name: {build: row[name] for build, row in enumerate(programme.labels)} for name in names}
    return gather_evidence(rows, Band(*known.band, known.expected), 0, labels)


def tally(programmes) -> Counter:
    """(true kind, kind found) -> checks."""
    return Counter(
        (known.kind, kind) for one in programmes for known, kind in zip(one.checks, kinds_found(one), strict=True)
    )


def account(builds: int, number: int, count: Counter) -> None:
    false = {reported: n for (kind, reported), n in count.items() if kind == p.CLEAN and reported not in SILENT}
    print(f"{builds} builds: {sum(false.values()) / number:.2f} false findings a programme {false or ''}")
    for kind in p.FINDINGS:
        rows = {reported: n for (true, reported), n in count.items() if true == kind}
        if whole := sum(rows.values()):
            said = sum(n for reported, n in rows.items() if reported not in SILENT)
            print(
                f"   {kind}, {whole}: a finding {said / whole:.0%}, the right one {rows.get(SAME[kind], 0) / whole:.0%}"
            )


def main():
    from tests.trials.diagnosis import open_site

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--programmes", type=int, default=20)
    asked = parser.parse_args()
    open_site()
    rng = np.random.default_rng(asked.seed)
    for builds in p.SIZES:
        account(builds, asked.programmes, tally([p.draw_programme(rng, builds) for _ in range(asked.programmes)]))


if __name__ == "__main__":
    main()
