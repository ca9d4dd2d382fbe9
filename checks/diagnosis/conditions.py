"""Under which conditions a guide's checks are read, and which of its parts are soldered in by then."""

from dataclasses import replace

import numpy as np

from checks.circuit.netlist.conditions import Condition, read_condition
from checks.circuit.netlist.signal import as_probed, stated_signal
from checks.circuit.prediction.probes import Probe, is_on, why_unpredicted
from checks.diagnosis.extras import LINE
from checks.diagnosis.parasitics import is_barrier, is_standing
from checks.diagnosis.place import Place
from checks.diagnosis.reading_scale import PART, to_scale
from checks.diagnosis.solving import HEALTHY, Bench, simulate_middles
from checks.errors import ChecksError
from checks.measures import MODELLED

SMALLEST_FIGURE = 1e-3
SAME, TINY = 0.03, 0.02  # of a reading, and in V or Ω, by which it may differ and count as the same


def list_conditions(stages, mains, circuit=()):
    """[(condition, places)]: stages under the same condition are solved together. With the `circuit` at hand parts that
    wait for their stage are left out where a good kit reads the same without them, or nearer to the guide's figures
    (`figures` of a stage: check key -> SI)."""
    by_condition: dict[Condition, list[Place]] = {}
    for stage in stages:
        condition = replace(read_condition(stage, mains), line_spread=LINE)
        for signal, places in _places(stage, condition.power).items():
            under = replace(condition, signal=signal)
            waiting = frozenset(stage.get("waiting") or ()) - condition.not_fitted if circuit else frozenset()
            fitted = _without_waiting_parts(circuit, under, waiting, places, stage.get("figures") or {})
            by_condition.setdefault(fitted, []).extend(places)
    return list(by_condition.items())


def _places(stage, power: str) -> dict:
    """Test signal, None without one -> the places of a stage that are read under it."""
    by_signal: dict = {}
    for check in stage["checks"]:
        if check["measure"] in MODELLED and not (check["red"].startswith("=") or check["black"].startswith("=")):
            stated = stated_signal(check.get("signal"))
            own = (check["red"], check["black"], check["measure"], check.get("through") or "")
            place = Place(
                stage["key"], check["key"], Probe(*own, *as_probed(stated)), power, check.get("title") or check["key"]
            )
            by_signal.setdefault(stated.signal if stated else None, []).append(place)
    return by_signal


def _without_waiting_parts(circuit, condition: Condition, waiting: frozenset[str], places, figures) -> Condition:
    """The condition without the parts that wait for a later stage: nothing wrong with them shows before. A guide whose
    steps say otherwise than its figures keeps them."""
    if not waiting:
        return condition
    less = replace(condition, not_fitted=condition.not_fitted | waiting)
    try:
        both = [Bench.of(present(circuit, one), one) for one in (condition, less)]
        known = [p for p in places if is_on(both[0].net, p.probe) and not why_unpredicted(p.probe, both[0].net)]
        with_them, without = (simulate_middles(bench, known, [HEALTHY])[0][0] for bench in both if known)
    except (ChecksError, ValueError):
        return condition
    if (np.abs(without - with_them) <= SAME * np.abs(with_them) + TINY).all():
        return less
    expected = np.array([figures.get(place.check, np.nan) for place in known])
    return (
        less if _distance_from_figures(without, expected) < _distance_from_figures(with_them, expected) else condition
    )


def _distance_from_figures(readings, expected) -> float:
    """How far readings are from the figures that are known, on the scale, all together."""
    units = np.maximum(SMALLEST_FIGURE, PART * np.abs(expected))
    return float(np.nansum(np.abs(to_scale(readings, units) - to_scale(expected, units))))


def present(circuit, condition: Condition):
    """The circuit without what parasitics the parts that are not fitted bring along; a socket stays for its valve."""
    absent = {part.ref for part in circuit if part.ref in condition.not_fitted and not part.pins}
    whole = [part for part in circuit if part.ref.partition(" ")[0] not in absent or part.ref in absent]
    only_else = is_standing if condition.power == "off" else is_barrier
    return [part for part in whole if not only_else(part)]


def before_power(stages, places):
    """(n,): the places of the guide that are read before the first stage with the power on."""
    keys = [stage["key"] for stage in stages]
    first = next((n for n, stage in enumerate(stages) if stage.get("power") == "on"), len(keys))
    return np.array([place.check != "" and place.stage in keys[:first] for place in places], dtype=bool)
