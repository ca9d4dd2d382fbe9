"""How much a dictionary may hold, and what is left out of that of a very large guide.

Its covariances grow with the faults times the square of the readings, and with a guide both grow. Paths between points
that are no neighbours go first, then readings beside the guide, then faults that another fault of the same part says
nearly as well, then the rarest. What a designer wrote down stays.
"""

from collections import Counter
from dataclasses import dataclass

from checks.diagnosis.codes import FaultCode

MOST_NUMBERS = 20_000_000  # of covariances: 160 MB while they are worked with
FULLY_DRAWN, FEWEST_DRAWN = 600, 24  # faults up to which each is drawn from all samples; samples of each at least
# Two that a part with another value covers each, and one that a dry pin does.
COVERED = (FaultCode.CHANGED_PLACES, FaultCode.MISREAD, FaultCode.WRONG_PIN)


@dataclass(frozen=True)
class LeftOut:
    """Faults by code, and readings beside the guide, that a dictionary does without."""

    faults: dict[str, int]
    extras: int = 0

    def __bool__(self) -> bool:
        return bool(self.faults) or self.extras > 0


NOTHING_LEFT_OUT = LeftOut({})


def bound_dictionary(faults, groups, most: int | None = None):
    """(faults, [(condition, places)], what was left out) so that a dictionary holds no more than `most` numbers,
    MOST_NUMBERS unless given, or as near to it as the guide's own checks and the designer's own faults allow."""
    most = MOST_NUMBERS if most is None else most
    kept, whole = list(faults), groups
    for trim in (_without_paths, _without_extras("on"), _without_covered, _without_extras("off"), _without_rarest):
        if _numbers(kept, whole) > most:
            kept, whole = trim(kept, whole, most)
    kept_keys = {fault.key for fault in kept}
    gone = Counter(fault.code.value for fault in faults if fault.key not in kept_keys)
    return tuple(kept), whole, LeftOut(dict(gone), _extras(groups) - _extras(whole))


def samples_for(faults: int, samples: int) -> int:
    """How many builds each of so many faults is drawn from, where a few are drawn from `samples`."""
    return samples if faults <= FULLY_DRAWN else max(min(FEWEST_DRAWN, samples), samples * FULLY_DRAWN // faults)


def _numbers(faults, groups) -> int:
    return (len(faults) + 1) * _places(groups) ** 2


def _places(groups) -> int:
    return sum(len(places) for _condition, places in groups)


def _extras(groups) -> int:
    return sum(not place.check for _condition, places in groups for place in places)


def _without_extras(power: str):
    def trim(faults, groups, _most):
        return faults, [(one, [p for p in places if p.check or p.power != power]) for one, places in groups]

    return trim


def _without_paths(faults, groups, most: int):
    """As many of them as there is room for, the likelier first."""
    others = sum(fault.code is not FaultCode.STRAY_PATH for fault in faults)
    room = max(0, _room(groups, most) - others)
    return [f for f in faults if f.code is not FaultCode.STRAY_PATH or (room := room - 1) >= 0], groups


def _room(groups, most: int) -> int:
    """Faults that a dictionary with these readings has room for."""
    return max(0, most // max(1, _places(groups)) ** 2 - 1)


def _without_covered(faults, groups, _most):
    return [fault for fault in faults if fault.code not in COVERED], groups


def _without_rarest(faults, groups, most: int):
    """The designer's own, then the likeliest, in the order of the list."""
    room = _room(groups, most)
    ranked = sorted(range(len(faults)), key=lambda n: (faults[n].code is not FaultCode.OWN, -faults[n].weight))
    own = sum(fault.code is FaultCode.OWN for fault in faults)
    stay = set(ranked[: max(room, own)])
    return [fault for n, fault in enumerate(faults) if n in stay], groups
