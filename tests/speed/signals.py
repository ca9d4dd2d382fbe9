"""How long signals take over many builds: 10,000 samples at 20 frequencies against the bare batched complex solves.

python -m tests.speed.signals [samples]
"""

import sys
import time

import numpy as np

from checks.circuit import Condition, Signal
from checks.circuit.prediction.nominal import solve_nominal
from checks.circuit.signals.transfer import small_signal, transfer
from checks.circuit.solver.operating_point import solve_operating_point
from tests.checks.circuit.kits import demo_rows, parts_of

CHUNK, HERTZ = 500, np.geomspace(20, 20e3, 20)


def main(samples: int) -> None:
    signal = Signal("in.tip", "out.hot", 8.2)
    net, nominal = solve_nominal(parts_of(*demo_rows()), Condition(signal=signal, settings=(("RV1", 1.0),)))
    points, m = [], net.parameters.draw(samples, 1)
    for n in range(0, samples, CHUNK):
        points.append(solve_operating_point(net, m[n : n + CHUNK], line=nominal.line, start=nominal.solution.ports))
    red = net.node("out.hot")
    begun = time.perf_counter()
    gains = [transfer(linear, f).at(red) for linear in map(small_signal, points) for f in HERTZ]
    whole = time.perf_counter() - begun
    linear = small_signal(points[0])
    n, bare = len(linear.kept) - 1, 0.0
    for f in HERTZ:
        y = linear.admittances(f)
        left, right = np.ascontiguousarray(y[:, :n, :n]), np.ascontiguousarray(-y[:, :n, n:])
        begun = time.perf_counter()
        for _ in points:
            np.linalg.solve(left, right)
        bare += time.perf_counter() - begun
    print(f"{samples} samples x {len(HERTZ)} frequencies, {n} nodes: {whole:.2f} s")
    print(f"bare solves: {bare:.2f} s; ratio {whole / bare:.2f} (at most 2.5)")
    print(f"gain at 1 kHz: {np.median([abs(g).mean() for g in gains[10::20]]):.1f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
