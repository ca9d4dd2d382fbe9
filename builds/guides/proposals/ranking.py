"""Which proposed checks show most faults that no other shows: the best first, then what each further one adds."""

import math
from dataclasses import replace

import numpy as np

from builds.guides.circuit.own_faults import with_usual
from builds.guides.circuit.specs import spec_or_none
from builds.guides.proposals.proposal import Set
from builds.guides.proposals.signals import MOST
from checks.band import Band, parse_band
from checks.diagnosis import Prepared, prepare
from checks.diagnosis.coverage import places_that_show
from checks.diagnosis.reading_scale import from_scale
from checks.errors import ChecksError
from checks.measures import UNITS

SAMPLES = 24  # builds a fault is drawn in: enough to order checks, too few to judge a reading
FIGURES = ("band", "low", "high", "at_least", "at_most")
MIDDLE_95 = 1.96  # standard deviations


def ranked(tables: dict, proposal_set: Set) -> Set:
    """The set with ranks, and of the signal checks the best few alone; unchanged where the circuit cannot be solved.

    Signals are solved last, with those faults alone that nothing else shows."""
    parts, mains = tables["part"], tables["kit"].get("mains", {"volts": 230, "hertz": 50})
    specs = [spec for spec in map(spec_or_none, parts) if spec]
    plain = replace(proposal_set, proposals=tuple(p for p in proposal_set.proposals if not p.is_signal or p.is_there))
    signals = [p for p in proposal_set.proposals if p.is_signal and not p.is_there]
    try:
        book = prepare(specs, _stages(plain), mains, faults=with_usual(specs, tables["fault"]), samples=SAMPLES)
        order, missed = _best(proposal_set, book, [p.name for p in plain.proposals if not p.is_there])
        if signals and missed:
            alone = _stages(replace(proposal_set, proposals=tuple(signals)), with_own=False)
            book = prepare(specs, alone, mains, faults=missed, samples=SAMPLES)
            order += [row for row in _best(proposal_set, book, [p.name for p in signals], MOST)[0] if row[1]]
    except ChecksError:
        return plain
    place = {name: (n, adds) for n, (name, adds) in enumerate(order, 1)}
    shown = [p for p in proposal_set.proposals if p.is_there or not p.is_signal or p.name in place]
    rows = [replace(p, rank=place[p.name][0], shows=place[p.name][1]) if p.name in place else p for p in shown]
    return replace(proposal_set, proposals=tuple(rows))


def _best(proposal_set: Set, book: Prepared, names: list[str], most: int = 999):
    """([(proposal, how many faults it adds)] the best first, the faults that nothing shows). What the guide's own
    checks show is seen already; each next one adds most of what is left."""
    shows = places_that_show(book, _bands(proposal_set, book))
    columns = {place.name: n for n, place in enumerate(book.places) if place.check}
    weights = np.array([fault.weight for fault in book.faults])
    seen = shows[:, [n for name, n in columns.items() if name not in names]].any(axis=1)
    remaining = [name for name in names if name in columns]
    order: list = []
    while remaining and len(order) < most:
        best = max(remaining, key=lambda name: weights[~seen & shows[:, columns[name]]].sum())
        adds = ~seen & shows[:, columns[best]]
        order.append((best, int(adds.sum())))
        seen = seen | adds
        remaining.remove(best)
    return order, tuple(book.faults[f] for f in np.flatnonzero(~seen))


def _stages(proposal_set: Set, with_own: bool = True) -> list[dict]:
    """The guide's stages with its own and the proposed checks, as the dictionary of faults takes them."""
    rows = []
    for stage in proposal_set.stages:
        own = stage.get("check", []) if with_own else []
        checks = [*own, *(p.row for p in proposal_set.proposals if p.stage == stage["key"] and not p.is_there)]
        rows.append(
            {"power": "off", "not_fitted": [], "supply": {}, **stage}
            | {"checks": [{"black": "chassis", "through": "", **check} for check in checks]}
        )
    return rows


def _bands(proposal_set: Set, book: Prepared) -> dict[str, Band]:
    """By place: what the guide states, what the circuit gives a proposal, else the middle of the builds drawn."""
    checks = {
        f"{stage['key']}/{check['key']}": check for stage in proposal_set.stages for check in stage.get("check", [])
    }
    proposed = {
        p.name: Band(p.low, p.high, p.value)
        for p in proposal_set.proposals
        if not p.is_there and p.low < p.high < math.inf
    }
    places = {place.name: n for n, place in enumerate(book.places) if place.name in checks}
    by_model = {name: _drawn(book, n) for name, n in places.items() if checks[name].get("expected") == "model"}
    typed = {name: band for name in places if (band := _typed(checks[name]))}
    return by_model | typed | proposed


def _typed(check: dict) -> Band | None:
    figures = {name: check.get(name, "") for name in FIGURES}
    if check.get("expected") == "model" or not (check.get("expected") or any(figures.values())):
        return None
    try:
        return parse_band(unit=UNITS[check["measure"]], expected=check.get("expected", ""), **figures)
    except (ChecksError, KeyError):
        return None


def _drawn(book: Prepared, n: int) -> Band:
    sd = MIDDLE_95 * np.sqrt(book.scatter[0, n, n])
    low, middle, high = (float(from_scale(book.mean[0, n] + way * sd, book.units[n])) for way in (-1, 0, 1))
    return Band(low, high, middle)
