"""Fit Koren's parameters to published points: python -m checks.circuit.fitting.fit > checks/circuit/valves/fitted.py

Least squares on relative errors. The currents weigh most, since bench readings are set by them; gm next; the pentode's
atan() cannot follow a real anode resistance, so that weighs least. Starting values are typical ones; each type is
fitted from several and the best is kept. Nothing here is used while the site runs.
"""

import json
import sys
from dataclasses import asdict

import numpy as np
from scipy.optimize import least_squares

from checks.circuit.valves.koren import Koren, pentode_current, triode_current
from checks.circuit.valves.types import data

WEIGHT = {"ia": 1 / 0.005, "ig2": 1 / 0.03, "gm": 1 / 0.05, "ra": 1 / 0.10}
PENTODE_RA = 1 / 1.0
PUSH_PULL = 0.1  # of the weight of anode current at points of two valves, whose volts are partly worked out
NAMES = {
    "triode": ("mu", "ex", "kg1", "kp", "kvb", "vct"),
    "pentode": ("mu", "ex", "kg1", "kp", "kvb", "kg2", "exs", "fall"),
}
LOW = {"mu": 2, "ex": 1.1, "kg1": 50, "kp": 10, "kvb": 1, "vct": 0.0, "kg2": 1, "exs": 1.0, "fall": 0.0}
HIGH = {"mu": 150, "ex": 1.6, "kg1": 10000, "kp": 3000, "kvb": 5000, "vct": 0.6, "kg2": 5e5, "exs": 2.6, "fall": 3.0}
FROM_ZERO = ("vct", "fall")  # these may be 0, so that 1 is added before the logarithm
# Weak pulls to typical values: two points do not fix every parameter.
KVB_WIDTH, MU_WIDTH = 0.5, 0.1
TYPICAL = {"ex": (1.4, 0.1), "vct": (0.2, 0.5), "exs": (1.5, 0.3), "fall": (1.0, 1.0)}


def predicted(k: Koren, point: dict) -> dict:
    """ia, gm, ra and, for a pentode, ig2 of a set at a published point."""
    if k.kg2 is None:
        ia, by_va, gm = triode_current(k, float(point["va"]), float(point["vg1"]))
        return {"ia": float(ia), "gm": float(gm), "ra": float(1 / by_va)}
    (ia, by_va, _, gm), (screen, *_) = pentode_current(k, *(float(point[n]) for n in ("va", "vg2", "vg1")))
    return {"ia": float(ia), "gm": float(gm), "ra": float(1 / by_va), "ig2": float(screen)}


def residuals(k: Koren, points: list[dict], kind: str):
    """Weighted relative errors, the first point's currents three times as heavy, and the weak pulls."""
    differences = []
    for n, point in enumerate(points):
        for name, value in predicted(k, point).items():
            if name in point:
                weight = PENTODE_RA if (name, kind) == ("ra", "pentode") else WEIGHT[name]
                first = 1.0 if n == 0 or name not in ("ia", "ig2") else 0.33
                if name == "ia" and "gm" not in point:
                    first = PUSH_PULL
                differences.append(weight * first * float(np.log(max(value, 1e-12) / point[name])))
    pulls = [
        (getattr(k, name) - centre) / width for name, (centre, width) in TYPICAL.items() if getattr(k, name) is not None
    ]
    if kind == "pentode":
        pulls.append(float(np.log(k.mu / points[0]["mu"])) / MU_WIDTH)
    if kind == "triode":  # kvb only matters at low anode voltages, where there are no points
        pulls.append(float(np.log(k.kvb / 300.0)) / KVB_WIDTH)
    return np.array(differences + pulls)


def _set(names, logs) -> Koren:
    return Koren(**{n: float(np.exp(v)) - (1 if n in FROM_ZERO else 0) for n, v in zip(names, logs, strict=True)})


def _starts(kind: str, points: list[dict]):
    p = points[0]
    mu = p.get("gm", 0.002) * p["ra"] if kind == "triode" else 2.0 * p["vg2"] / abs(p["vg1"]) * 0.5
    for ex, kp, kvb in ((1.4, 300, 300), (1.3, 100, 300), (1.5, 600, 300), (1.35, 50, 20)):
        start = {
            "mu": mu * 1.05,
            "ex": ex,
            "kg1": 1000,
            "kp": kp,
            "kvb": kvb if kind == "triode" else 20,
            "vct": 0.1,
            "kg2": 5000,
            "exs": 1.5,
            "fall": 1.0,
        }
        yield start


def fit(kind: str, points: list[dict]) -> Koren:
    """The set with the least weighted error over `points` (the type's main point first)."""
    names = NAMES[kind]
    shift = [1.0 if n in FROM_ZERO else 0.0 for n in names]
    low, high = (np.log([side[n] + s for n, s in zip(names, shift, strict=True)]) for side in (LOW, HIGH))
    best = None
    for start in _starts(kind, points):
        begin = np.clip(np.log([start[n] + s for n, s in zip(names, shift, strict=True)]), low + 1e-6, high - 1e-6)
        solution = least_squares(
            lambda x: residuals(_set(names, x), points, kind), begin, bounds=(low, high), max_nfev=4000
        )
        if best is None or solution.cost < best.cost:
            best = solution
    assert best is not None  # there is always a start
    return _set(names, best.x)


def rounded(k: Koren) -> dict:
    """Six significant digits are more than the points carry."""
    return {name: float(f"{value:.6g}") for name, value in asdict(k).items() if value is not None}


def table(fits: dict[str, Koren], rows: dict) -> list[tuple]:
    """(type, point, quantity, published, model, error %) for every published figure."""
    return [
        (name, point["id"], quantity, point[quantity], value, 100 * (value / point[quantity] - 1))
        for name, k in fits.items()
        for point in rows[name]["points"]
        for quantity, value in predicted(k, point).items()
        if quantity in point
    ]


def fit_all(rows: dict) -> dict[str, Koren]:
    return {name: Koren(**rounded(fit(row["kind"], row["points"]))) for name, row in rows.items()}


def main():
    """Write the module fitted.py to standard output."""
    rows = data()["valves"]
    fits = fit_all(rows)
    out = sys.stdout.write
    out('"""Koren parameters fitted to published points by fitting/fit.py; written by it, not by hand.\n\n')
    out("How near they come is in VALVES.md, the source of each point in valve_points.json.\n")
    out('"""\n\n# fmt: off\nFITTED = {\n')
    for name, k in fits.items():
        values = json.dumps(rounded(k)).replace(', "vct"', ',\n        "vct"')
        out(f'    "{name}": {values},\n')
    out("}\n")


if __name__ == "__main__":
    main()
