"""The circuit solver against plain linear algebra and against scipy's root finder: python -m tests.speed.circuit

Same run, same machine: 10,000 builds of the demo kit with the power on; the same number of numpy.linalg.solve calls on
matrices of the same shapes; scipy.optimize.root on an independent writing of the same circuit, timed on 30 builds; then
every check of the guide under every condition with 10,000 builds each.
"""

import resource
import statistics
import time
import tomllib

import numpy as np

from checks.circuit import Condition, part_from_mapping
from checks.circuit.prediction.nominal import solve_nominal
from checks.circuit.prediction.scatter import CHUNK
from checks.circuit.solver.operating_point import solve_operating_point
from tests.checks.circuit.independent import Kit
from tests.checks.circuit.kits import DEMO, demo_rows

SAMPLES, FEW = 10_000, 30


def timed(call, rounds=5) -> float:
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main():
    parts = [part_from_mapping(row) for row in demo_rows()]
    net, nominal = solve_nominal(parts, Condition())
    m = net.parameters.draw(SAMPLES, 1)

    def ours():
        for n in range(0, SAMPLES, CHUNK):
            solve_operating_point(net, m[n : n + CHUNK], line=nominal.line, start=nominal.solution.ports)

    rng, size = np.random.default_rng(1), net.size
    matrices = rng.random((CHUNK, size, size)) + size * np.eye(size)
    sides = rng.random((CHUNK, size, nominal.solution.currents.shape[1] + 1 + len(net.rectifiers)))

    def plain():
        for _ in range(0, SAMPLES, CHUNK):
            np.linalg.solve(matrices, sides)

    solver, linear = timed(ours), timed(plain)
    kit = Kit(demo_rows())
    scipy_each = timed(lambda: [kit.solve() for _ in range(FEW)], 1) / FEW
    print(
        f"{SAMPLES:,} builds, {size} nodes: {solver:.2f} s; numpy.linalg.solve on the same shapes {linear:.2f} s: "
        f"ratio {solver / linear:.2f} (goal 2.5 or less)"
    )
    print(
        f"scipy root finding {1000 * scipy_each:.0f} ms a build, here {1e6 * solver / SAMPLES:.0f} µs: "
        f"{scipy_each / (solver / SAMPLES):.0f} times as fast (goal 40)"
    )
    print(f"the whole guide, all conditions, {SAMPLES:,} builds each: {timed(whole_guide, 1):.1f} s (goal 10)")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB (goal 1 GB)")


def whole_guide():
    from builds.guides.circuit.compute import compute

    guide = tomllib.loads(DEMO.read_text(encoding="utf-8"))
    stages = [
        {
            "key": s["key"],
            "power": s.get("power", "off"),
            "not_fitted": s.get("not_fitted", []),
            "supply": s.get("supply", {}),
            "checks": [
                {
                    "key": c["key"],
                    "measure": c["measure"],
                    "red": c["red"],
                    "black": c.get("black", "chassis"),
                    "through": c.get("through", ""),
                }
                for c in s.get("check", [])
            ],
        }
        for s in guide["stage"]
    ]
    compute({"mains": guide["kit"]["mains"], "parts": guide["part"], "stages": stages}, samples=SAMPLES)


if __name__ == "__main__":
    import os

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "builds.settings")
    import django

    django.setup()
    main()
