"""What every check would read under every fault: means, scatter, and how readings move together. Prepared once per
circuit."""

from dataclasses import dataclass, replace

import numpy as np

from checks.circuit.prediction.probes import OHMS, UNITS
from checks.diagnosis.amplification import amplification_scatter
from checks.diagnosis.bounds import NOTHING_LEFT_OUT, LeftOut, bound_dictionary, samples_for
from checks.diagnosis.codes import FaultCode, Parasitic
from checks.diagnosis.conditions import before_power, list_conditions, present
from checks.diagnosis.cut_off import add_tails
from checks.diagnosis.diodes import read_through_diodes
from checks.diagnosis.extras import with_extras
from checks.diagnosis.fault import Fault
from checks.diagnosis.listing import fault_list
from checks.diagnosis.model_doubt import GRID_DRIFT, add_model_doubt, scatter_of_good_electrolytics
from checks.diagnosis.moments import column_means, deviations, moments, spans
from checks.diagnosis.parasitics import parasitics
from checks.diagnosis.place import Place
from checks.diagnosis.prior_weights import LATE
from checks.diagnosis.reading_scale import OFFSET, PART, SIGNAL_UNIT, find_unit, linear_about_nothing, slope, to_scale
from checks.diagnosis.reuse import Benches
from checks.diagnosis.solved import find_correction, solve_condition
from checks.diagnosis.solving import (
    LARGEST_SOURCE,
    LEAST_VOLTS,
    METER_OHMS,
)
from checks.diagnosis.supply_faults import lamp_left_in
from checks.diagnosis.unsolved import Unsolved, unsolved

SAMPLES = 64


@dataclass(frozen=True)
class Prepared:
    """Faults and what they read. Row 0 of `mean` and `cov` is the healthy kit; row n + 1 is faults[n].

    `mean` (F + 1, n) and `cov` (F + 1, n, n) are on the scale of reading_scale.py with `units` (n,); `nominal` (n,) in
    SI, `exponents` (n,). `source` (F + 1, n) is the resistance in Ω that a meter loads; readings are those of
    METER_OHMS, corrected for its load on sources of `corrected` (n,) Ω, by default those of a healthy kit. NaN where a
    fault's circuit has no solution.

    `early` (n,) are read before the kit's first power; a fault appears only with that, by the chance `late` (F + 1,).
    Of the faults in `split` (F + 1,) the size with the power on is not that with it off. `drift` (n,) is how far grids
    may drift beside a fault, on the scale. At places `turned_on` (n,) an ohmmeter with enough volts of its own finds
    its way through a good diode, and then reads no less than `least_through` (n,).

    Faults that come in all sizes are a mixture: `size_row` (K,) says whose each size is, `size_mean` (K, n) what it
    reads, `size_span` (K, n) how far that goes within its share of the range, as a standard deviation along a
    direction. Their rows of `mean` and `cov` are the mixture's; `scatter` (F + 1, n, n) is that of good parts alone.
    `left_out` of a very large guide says what is not in here (bounds.py); `unsolved` why a fault has no figure
    somewhere.
    """

    faults: tuple[Fault, ...]
    places: tuple[Place, ...]
    units: np.ndarray
    nominal: np.ndarray
    exponents: np.ndarray
    mean: np.ndarray
    scatter: np.ndarray
    source: np.ndarray
    size_row: np.ndarray
    size_mean: np.ndarray
    size_span: np.ndarray
    early: np.ndarray
    late: np.ndarray
    split: np.ndarray
    drift: np.ndarray
    turned_on: np.ndarray
    least_through: np.ndarray
    corrected: np.ndarray | None = None
    left_out: LeftOut = NOTHING_LEFT_OUT
    unsolved: tuple[Unsolved, ...] = ()

    @property
    def index(self) -> dict[str, int]:
        return {place.name: n for n, place in enumerate(self.places)}

    @property
    def cov(self) -> np.ndarray:
        """(F + 1, n, n): scatter and, of faults that come in all sizes, how their sizes differ."""
        if "_cov" not in self.__dict__:
            whole = self.scatter.copy()
            for row in np.unique(self.size_row):
                apart = self.size_mean[self.size_row == row] - self.mean[row]
                whole[row] += np.nan_to_num(apart.T @ apart / max(1, len(apart)))
            object.__setattr__(self, "_cov", whole)
        return self.__dict__["_cov"]


def prepare(
    parts,
    stages,
    mains: dict | None = None,
    *,
    faults=None,
    samples: int = SAMPLES,
    seed: int = 7,
    report=lambda done, total, step="", **params: None,
) -> Prepared:
    """Solve every fault under every stage's condition. `stages` are mappings with key, power, not_fitted, supply,
    checks (key, red, black, measure, through) and, where they are known, `waiting`: the parts that only later stages
    solder in, and `figures`: check key -> what the guide says it reads, in SI. Raises ChecksError for a circuit that
    cannot be solved healthy."""
    parts = list(parts)
    faults = tuple(fault_list(parts) if faults is None else faults)
    circuit = [*parts, *parasitics(parts)]
    solved, places, benches = [], [], Benches()
    groups = with_extras(parts, list_conditions(stages, mains, circuit), mains)
    faults += tuple(lamp_left_in(parts, [condition for condition, _places in groups]))
    faults, groups, left_out = bound_dictionary(faults, groups)
    samples = samples_for(sum(not fault.loosens(Parasitic.PATH) for fault in faults), samples)
    for number, (condition, wanted) in enumerate(groups):
        report(number, len(groups), "condition", number=number + 1, count=len(groups))
        raw = solve_condition(present(circuit, condition), condition, wanted, faults, samples, seed, benches=benches)
        places += raw.places
        solved.append(raw)
    report(len(groups), len(groups))
    return replace(_summed(faults, tuple(places), solved, before_power(stages, places)), left_out=left_out)


def simulate_build(parts, stages, mains, seed: int, faults=()) -> dict[str, float]:
    """{"stage/check": value at the reference} of one good build drawn with `seed`, with `faults` in it. For
    demonstrations."""
    parts = list(parts)
    together = Fault("drawn", "drawn", "drawn", (), 1.0, tuple(m for f in faults for m in f.moves)) if faults else None
    values: dict[str, float] = {}
    for condition, wanted in list_conditions(stages, mains):
        solved = solve_condition(
            present([*parts, *parasitics(parts)], condition),
            condition,
            wanted,
            (together,) if together else (),
            1,
            seed,
            False,
        )
        values |= {p.name: float(v) for p, v in zip(solved.places, solved.values[-1, 0], strict=True)}
    return values


def _summed(faults, places, solved, early) -> Prepared:
    values = np.concatenate([one.values for one in solved], axis=2)  # (faults + 1, samples, places)
    bare, loaded, held, size_bare, size_loaded, over_grids = (
        np.concatenate([getattr(one, name) for one in solved], axis=1)
        for name in ("bare", "loaded", "held", "size_bare", "size_loaded", "over_grids")
    )
    nominal = np.nanmedian(values[0], axis=0)
    least = np.array([_unit(v, p) for v, p in zip(nominal, places, strict=True)])
    at_grids = np.concatenate([one.grid_volts for one in solved])
    units = linear_about_nothing(least, nominal, deviations(values[0], at_grids))
    live = np.array([place.power == "on" for place in places], bool)
    mean, scatter = moments(to_scale(values, units), units, OFFSET * least, at_grids, live)
    correction = find_correction(bare[0], loaded[0])
    mean = mean + to_scale(loaded * correction, units) - to_scale(bare, units)
    size_mean, size_row = to_scale(size_loaded * correction, units), solved[0].size_row
    # A size is solved with nominal parts: bring it to where the builds of a healthy kit lie.
    size_mean = size_mean + np.where(np.abs(size_mean) > 1, mean[0] - to_scale(bare[0], units), 0.0)
    scatter = scatter + amplification_scatter(faults, solved, mean, size_row, size_mean)
    through, least_through = read_through_diodes(faults, solved, mean, scatter, size_row, size_mean, units)
    for row in np.unique(size_row):
        own = size_mean[size_row == row]
        mean[row] = column_means(own)
        scatter[row] = scatter[0]
    exponents = np.where([p.probe.measure in OHMS for p in places], 0.0, 1.0)
    source = _source(bare, loaded, held)
    drift = np.where(at_grids > 0, GRID_DRIFT / units, 0.0)
    scatter = scatter + scatter_of_good_electrolytics(faults, mean[0], size_row, size_mean, places)
    scatter = add_model_doubt(scatter, mean, source, places, drift)
    scatter = add_tails(scatter, over_grids, source, slope(np.sinh(mean) * units, units))
    steps = spans(faults, size_row, size_mean)
    late = np.array([0.0, *(LATE.get(fault.code, 0.0) for fault in faults)])
    split = np.array([False, *(fault.code is FaultCode.CAPACITOR_REVERSED for fault in faults)])
    return Prepared(
        faults,
        places,
        units,
        nominal,
        exponents,
        mean,
        scatter,
        source,
        size_row,
        size_mean,
        steps,
        early,
        late,
        split,
        drift,
        through,
        least_through,
        unsolved=unsolved(faults, mean, {row: why for one in solved for row, why in one.reasons.items()}),
    )


def _unit(nominal: float, place: Place) -> float:
    """Signals are read on a range of their own: near zero a meter shows fractions of a millivolt."""
    unit = UNITS[place.probe.measure]
    return max(SIGNAL_UNIT, PART * abs(nominal)) if place.probe.under else find_unit(nominal, unit)


def _source(bare, loaded, held):
    """Ω that the meter loads: R (bare / loaded - 1); where there are no volts to tell it, those that hold the point."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ohms = METER_OHMS * (np.abs(bare) / np.maximum(np.abs(loaded), 1e-9) - 1.0)
    return np.nan_to_num(np.clip(np.where(np.abs(bare) > LEAST_VOLTS, ohms, held), 0.0, LARGEST_SOURCE))
