"""Causes that the readings taken so far do not tell apart are joined as one.

Between two faults under which the readings are about as likely, only the weights of the list and the sizes it looks at
would choose: figures of a model, and no evidence. The more so where the readings speak for the less likely of the two.
Such faults are one answer, of no more than MOST_PLACES places to look at, each with the ways in which it may be wrong.
A place is a part, or all capacitors, or all diodes, among them.
"""

from dataclasses import dataclass

from checks.diagnosis.codes import FaultCode
from checks.finite import finite_arguments, finite_figures

LEAST_DIFFERENCE = 3.0  # log density below a likelier cause's, up to which the readings do not choose that one
SPEAKS = 1.0  # above a healthy kit's, from which the readings speak for a fault
MOST_PLACES = 4
MOST_PATHS = 12  # that no part makes, of one answer: more of them would be no answer
ALIKE = (  # parts of which any may have the same wrong with it are looked at together
    {FaultCode.CAPACITOR_LEAKY, FaultCode.CAPACITOR_REVERSED, FaultCode.CAPACITOR_SHORT},
    {FaultCode.DIODE_REVERSED, FaultCode.DIODE_TURNED, FaultCode.DIODE_OPEN, FaultCode.ZENER_REVERSED},
    {FaultCode.FUSE_BLOWN, FaultCode.SWITCH_OPEN},
)
# What opens a fuse, and the fuse: whoever finds one blown has not found the fault.
BLOWN = (FaultCode.FUSE_BLOWN, FaultCode.DIODE_REVERSED)
EXCHANGED = (FaultCode.CHANGED_PLACES, FaultCode.VALVES_EXCHANGED)
STRAYS = (FaultCode.PINS_LEAK, FaultCode.STRAY_PATH)  # paths that no part makes
SHARE = 0.05  # of the leading cause's probability, below which one is left by itself


@finite_figures
@dataclass(frozen=True)
class Group:
    """Faults that no reading of the guide, or none so far, can tell apart, with their probability together; faults
    likeliest first."""

    faults: tuple
    probability: float

    @property
    def places(self) -> tuple[tuple, ...]:
        """The faults in tuples of one place to look at each, in the order in which they come first."""
        by_place: dict = {}
        for fault in self.faults:
            at = next((place for place in list_places(fault) if place in by_place), find_place(fault))
            by_place.setdefault(at, []).append(fault)
        return tuple(map(tuple, by_place.values()))


def find_place(fault) -> tuple:
    """Where to look for a fault: its (first) part, or a kind of parts; one of the mains is a place of its own. Paths
    that no part makes are looked for together."""
    if fault.code in STRAYS:
        return (STRAYS,)
    return next(((n,) for n, codes in enumerate(ALIKE) if fault.code in codes), fault.refs[:1] or (fault.key,))


def list_places(fault) -> tuple[tuple, ...]:
    """The places at any one of which a fault is found: two parts in each other's place, or socket, show at either."""
    if fault.code in EXCHANGED:
        return tuple((ref,) for ref in fault.refs)
    return (find_place(fault),)


@dataclass
class _Joined:
    """Faults (numbers, likeliest first) that are shown as one; `log` is the density of the best that began it.
    `has_blown` says that a fuse may be open here."""

    members: list[int]
    log: float
    probability: float
    places: set
    has_blown: bool


@finite_arguments
def join_ambiguous(prepared, sets, probabilities, logs, healthy: float) -> list[list[int]]:
    """`sets` of faults (numbers), joined where the readings speak for them beside a healthy kit, and do not choose
    between them. `probabilities` are (F,), `logs` (F,) the log densities of the readings, each fault at its best
    size, `healthy` that of a healthy kit."""
    joined_sets: list[_Joined] = []
    for members in sorted(
        _pool_sets(prepared, sets, probabilities, logs), key=lambda members: -probabilities[members].sum()
    ):
        share, log = float(probabilities[members].sum()), float(logs[members].max())
        likely = _likely_enough(members, probabilities)
        places = _places(prepared, likely)
        speaks = log > healthy + SPEAKS
        blows = any(prepared.faults[f].code in BLOWN for f in members)
        new = _Joined(list(members), log, share, places, blows)
        faults = [prepared.faults[f] for f in likely]
        into = next((joined for joined in joined_sets if speaks and _belongs_with(joined, new, faults)), None)
        if into:
            into.members += members
            into.places = _with_places(into.places, faults)
            into.has_blown |= blows
        else:
            joined_sets.append(new)
    return [joined.members for joined in joined_sets]


def _likely_enough(members, probabilities) -> list[int]:
    """Of faults that the guide never tells apart, those that are likely enough to be looked at."""
    least = SHARE * probabilities[members].max()
    return [f for f in members if probabilities[f] >= least]


def _places(prepared, members) -> set:
    """Where to look."""
    return _with_places(set(), [prepared.faults[f] for f in members])


def _with_places(places: set, faults) -> set:
    """`places`, and where to look for those of the faults that none of them shows."""
    whole = set(places)
    for fault in sorted(faults, key=lambda fault: len(list_places(fault))):
        if whole.isdisjoint(list_places(fault)):
            whole.add(find_place(fault))
    return whole


def _pool_sets(prepared, sets, probabilities, logs) -> list[list[int]]:
    """Sets with nowhere else to look are one, where the readings do not choose between them: how many of them the list
    has is no evidence."""
    pools: dict[frozenset, list[tuple[float, list[int]]]] = {}
    for members in sorted(sets, key=lambda members: -logs[members].max()):
        at = pools.setdefault(frozenset(_places(prepared, _likely_enough(members, probabilities))), [])
        log = float(logs[members].max())
        most = MOST_PATHS if members and prepared.faults[members[0]].code in STRAYS else len(logs)
        own = next((known for best, known in at if best - log <= LEAST_DIFFERENCE and len(known) < most), None)
        if own is None:
            at.append((log, list(members)))
        else:
            own += members
    return [members for at in pools.values() for _log, members in at]


def _belongs_with(joined: _Joined, new: _Joined, faults) -> bool:
    """Are `faults`, those of `new` that are likely enough, one answer with those of `joined`?"""
    if (STRAYS,) in joined.places & new.places:
        return False
    worse = joined.log - new.log  # below nothing: the readings speak for what the list has as the less likely
    if joined.has_blown and new.has_blown and worse <= LEAST_DIFFERENCE:
        return True  # however seldom: the next fuse blows as well
    if new.probability < SHARE * joined.probability:
        return False
    together = _with_places(joined.places, faults)
    if together == joined.places:
        return True  # nowhere else to look: what is wrong there shows as soon as somebody does
    most = max(MOST_PLACES, len(joined.places))
    return worse <= LEAST_DIFFERENCE and len(together) <= most
