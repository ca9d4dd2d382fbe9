"""Trials of the ranking on builds from the generator: who is found, how soon, and whether the probabilities mean what
they say."""

import tomllib
from itertools import pairwise

import numpy as np

from checks.circuit import part_from_mapping
from checks.diagnosis import Observation, next_reading, prepare, rank
from checks.diagnosis.grouping import group_indistinct_faults
from checks.diagnosis.reading_scale import to_scale
from tests.checks.circuit.kits import DEMO
from tests.checks.diagnosis.generator import Bench

NOTICED = 3.0  # standard deviations from the healthy reading, from which a builder is told that it is off


class Kit:
    """A demo kit prepared once, with its generator, which knows no signals: checks under one are left out."""

    def __init__(self, seed: int, guide=DEMO):
        guide = tomllib.loads(guide.read_text(encoding="utf-8"))
        self.parts = [part_from_mapping(row) for row in guide["part"]]
        stages = [
            {
                "key": s["key"],
                "power": s.get("power", "off"),
                "not_fitted": s.get("not_fitted", []),
                "supply": s.get("supply", {}),
                "checks": [{"black": "chassis", "through": "", **c} for c in s.get("check", []) if not c.get("signal")],
            }
            for s in guide["stage"]
        ]
        self.prepared = prepare(self.parts, stages, guide["kit"]["mains"])
        self.bench = Bench(guide["part"], self.parts, seed)
        self.bench.stages = {s["key"]: s for s in guide["stage"]}
        unseen, self.sets, _kin = group_indistinct_faults(self.prepared)
        self.unseen = {self.prepared.faults[f].key for f in unseen}
        self.measured = [p for p in self.prepared.places if p.check or p.power == "off"]
        self.order = [p for p in self.prepared.places if p.check]
        self.listed = [f for f in self.prepared.faults if not f.sizes and not f.lamp_watts]
        valued = [f for f in self.prepared.faults if f.sizes and f.key not in self.unseen]
        self.any_value = [f for f in valued if f.kind != "path"]  # the generator lays none; tests/trials draws them

    def readings(self, fault):
        return {name: Observation(name, *shown) for name, shown in self.bench.read(fault, self.measured).items()}

    def standing(self, ranking):
        """[(probability, is it this fault's)] sorted, with what stands for a kit that reads healthy and for something
        else."""
        rows = [("clear", ranking.clear), ("other", ranking.other), *((g, g.probability) for g in ranking.groups)]
        return sorted(rows, key=lambda row: -row[1])

    def hits(self, what, fault) -> bool:
        if what in ("clear", "other"):
            return what == "clear" and (fault is None or fault.key in self.unseen)
        return fault is not None and any(
            f.key == fault.key or (fault.sizes and f.refs == fault.refs) for f in what.faults
        )

    def noticed(self, observation) -> bool:
        """Is this reading far from what a healthy kit reads?"""
        if observation.value is None:
            return True
        n = self.prepared.index[observation.place]
        away = to_scale(observation.value, self.prepared.units[n]) - self.prepared.mean[0, n]
        return abs(away) > NOTICED * np.sqrt(self.prepared.cov[0, n, n])


def all_checks(kit: Kit, faults):
    """Yield (fault, place of the right answer among the likeliest, probability of the first) with every check taken.
    Of a build on which no reading is off, it is right that it reads as a good one does."""
    for fault in faults:
        try:
            readings = kit.readings(fault)
        except ArithmeticError:
            continue
        taken = [readings[p.name] for p in kit.order if p.name in readings]
        standing, is_off = kit.standing(rank(kit.prepared, taken)), any(map(kit.noticed, taken))
        right = (kit.hits(what, fault) or (what == "clear" and not is_off) for what, _p in standing)
        yield fault, next((n for n, is_right in enumerate(right) if is_right), 99), standing[0][1]


def as_it_happens(kit: Kit, faults, most=3):
    """Yield (fault, further readings until it stands first; 99 if not within `most`), from the first reading that is
    off."""
    for fault, readings, taken in _first_signs(kit, faults):
        yield fault, _further(kit, fault, readings, taken, most)


def at_first_sign(kit: Kit, faults):
    """Yield (fault, is what stands first right, its probability) after the first reading that is off: when least is
    known."""
    for fault, _readings, taken in _first_signs(kit, faults):
        what, probability = kit.standing(rank(kit.prepared, taken))[0]
        yield fault, kit.hits(what, fault), probability


def _first_signs(kit: Kit, faults):
    """Yield (fault, all its readings, those up to the first that is off) of the faults that some check shows."""
    for fault in faults:
        try:
            readings = kit.readings(fault)
        except ArithmeticError:
            continue
        taken = []
        for place in kit.order:
            if place.name in readings:
                taken.append(readings[place.name])
                if kit.noticed(taken[-1]):
                    yield fault, readings, taken
                    break


def reliability(rows, edges=(0.0, 0.5, 0.7, 0.9, 1.01)):
    """[(cases, mean probability given, share that was right, what chance may put between the two at 99 %)] in bands of
    the probability given, from (fault, right, probability).

    Each fault counts by its weight: a fault that happens seldom is rightly given less.
    """
    rows, result = list(rows), []
    for low, high in pairwise(edges):
        band = [(f.weight, right, p) for f, right, p in rows if low <= p < high]
        whole = sum(w for w, _r, _p in band)
        if band:
            given, right = sum(w * p for w, _r, p in band) / whole, sum(w * r for w, r, _p in band) / whole
            effective = whole**2 / sum(w * w for w, _r, _p in band)
            result.append((len(band), given, right, 2.58 * np.sqrt(given * (1 - given) / effective)))
    return result


def _further(kit, fault, readings, taken, most) -> int:
    stage = taken[-1].place.partition("/")[0]
    for n in range(most + 1):
        ranking = rank(kit.prepared, taken)
        if kit.hits(kit.standing(ranking)[0][0], fault):
            return n
        names = {o.place for o in taken}
        suggestion = next_reading(
            kit.prepared, ranking, names, lambda p: p.name in readings and (p.power == "off" or p.stage == stage)
        )
        if suggestion is None:
            return 99
        taken.append(readings[suggestion.place.name])
    return 99
