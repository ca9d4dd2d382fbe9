"""Which proposed checks show most faults that no other shows: the best first, then what each further one adds."""

from dataclasses import replace

import numpy as np

from builds.guides.circuit.own_faults import with_usual
from builds.guides.circuit.specs import spec_or_none
from builds.guides.proposals.propose import Proposal, Set
from checks.diagnosis import prepare
from checks.diagnosis.coverage import SHOWS, apart_of
from checks.errors import ChecksError

SAMPLES = 24  # builds a fault is drawn in: enough to order checks, too few to judge a reading


def ranked(tables: dict, found: Set) -> Set:
    """The set with ranks; unchanged where the circuit cannot be solved."""
    parts, mains = tables["part"], tables["kit"].get("mains", {"volts": 230, "hertz": 50})
    specs = [spec for spec in map(spec_or_none, parts) if spec]
    try:
        book = prepare(specs, _stages(found), mains, faults=with_usual(specs, tables["fault"]), samples=SAMPLES)
    except ChecksError:
        return found
    shows = apart_of(book) >= SHOWS
    columns = {place.name: n for n, place in enumerate(book.places) if place.check}
    weights = np.array([fault.weight for fault in book.faults])
    return replace(found, proposals=tuple(_ordered(found.proposals, shows, columns, weights)))


def _stages(found: Set) -> list[dict]:
    """The guide's stages with its own and the proposed checks, as the dictionary of faults takes them."""
    rows = []
    for stage in found.stages:
        checks = [*stage.get("check", [])] + [
            p.row for p in found.proposals if p.stage == stage["key"] and not p.is_there
        ]
        rows.append(
            {"power": "off", "not_fitted": [], "supply": {}, **stage}
            | {"checks": [{"black": "chassis", "through": "", **check} for check in checks]}
        )
    return rows


def _ordered(proposals, shows, columns, weights) -> list[Proposal]:
    """Greedy: what the guide's own checks show is seen already; each next one adds most of what is left."""
    own = {p.name for p in proposals if not p.is_there}
    seen = np.zeros(len(weights), bool)
    for name, n in columns.items():
        if name not in own:
            seen |= shows[:, n]
    left = [p for p in proposals if not p.is_there and p.name in columns]
    ranks: dict[str, tuple[int, int]] = {}
    while left:
        best = max(left, key=lambda p: weights[~seen & shows[:, columns[p.name]]].sum())
        adds = ~seen & shows[:, columns[best.name]]
        ranks[best.name] = (len(ranks) + 1, int(adds.sum()))
        seen |= adds
        left.remove(best)
    return [replace(p, rank=ranks[p.name][0], shows=ranks[p.name][1]) if p.name in ranks else p for p in proposals]
