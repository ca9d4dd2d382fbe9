"""One thing that may be wrong: how it changes the circuit, how likely it is, and its code."""

from dataclasses import dataclass, field

import numpy as np

from checks.diagnosis.codes import FaultCode, Parasitic
from checks.errors import CallerError
from checks.finite import finite_arguments

SIZES, STEP = 5, 0.55  # in which a fault that comes in all sizes is looked at, at least; decades from one to the next
COLD_OHMS = tuple(10.0**n for n in (0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 5.5, 6, 6.5))  # of a cold joint
COLD_SHOWS = 0.08  # of a resistance, from which a joint in series with it shows
OPEN_OHMS, SHORT = 1e10, 1e-6  # what an open joint comes to; multiplier of a short
BRIDGED = 0.5  # Ω of a short, a bridge of solder or a stray lead: the same for all, so that no choice rests on it
TURNED = -1.0  # multiplier of a supply the wrong way round


@finite_arguments
def opening_factor(ohms: float) -> float:
    """The multiplier that makes a resistance an open circuit."""
    return max(100.0, OPEN_OHMS / ohms)


@finite_arguments
def joint_sizes(ohms: float) -> tuple[float, ...]:
    """The multipliers of a resistance in series with a cold joint, of which nobody knows how many ohms it has."""
    return tuple(1 + joint / ohms for joint in COLD_OHMS if joint > COLD_SHOWS * ohms) or (1 + COLD_OHMS[-1] / ohms,)


@dataclass(frozen=True)
class Move:
    """Multiply one parameter of the circuit (a part's value, a winding's ohms, a valve's strength, the line) by a
    factor.

    `decades`: a fault that comes in all sizes is up to so many decades worse or better than `factor` says, evenly on a
    logarithmic scale; of a factor above one it is what goes beyond one that varies. `part_of` says of which kind a
    parasitic element is.
    """

    ref: str
    what: str
    factor: float
    decades: float = 0.0
    part_of: Parasitic | None = None

    def sized(self, size):
        """The factor at `size` (any array) from -1 to 1."""
        worse = 10.0 ** (self.decades * size)
        return 1 + (self.factor - 1) * worse if self.factor > 1 else self.factor * worse

    def __post_init__(self):
        if not self.decades >= 0:
            raise CallerError(
                f"A fault's sizes spread over no less than nothing: {self.ref} {self.what}.", argument="decades"
            )
        if not (self.factor > 0 or self.factor == TURNED):
            raise CallerError(f"A fault multiplies {self.ref} {self.what} by something above zero.", argument="factor")


@dataclass(frozen=True)
class Fault:
    """A change of the circuit with its code.

    `moves` multiply parameters; `without` are parts left out altogether; `dead_heaters` valves whose sockets get no
    heater volts. `weight` is its share among all faults before any reading (see listing.py); `kind` groups faults for
    learning. `params` go into the sentences of its code; `words` and `look` are the designer's own, where given.
    `no_ac` names the nodes, or pins alone, that no alternating volts reach any more; `half_ac` those where every other
    half cycle is left whole, and its first move is what is left of the others. `turned` diodes are the wrong way round.
    `sizes` are factors of its first move, for a fault that may be anything within them. `lamp_watts` is a lamp left in
    series with the mains.
    """

    key: str
    words: str
    kind: str
    refs: tuple[str, ...]
    weight: float
    moves: tuple[Move, ...] = ()
    without: tuple[str, ...] = ()
    dead_heaters: tuple[str, ...] = ()
    look: str = ""
    code: FaultCode = FaultCode.OWN
    params: dict = field(default_factory=dict, hash=False)
    sizes: tuple[float, ...] = ()
    no_ac: tuple[str, ...] = ()
    lamp_watts: float = 0.0
    turned: tuple[str, ...] = ()
    half_ac: tuple[str, ...] = ()

    @property
    def comes_in_sizes(self) -> bool:
        """Is it one of a continuous range, such as a leak?"""
        return bool(self.sizes) or any(move.decades for move in self.moves)

    def at_sizes(self) -> list[tuple[float, ...]]:
        """The factors of its moves at each size it is looked at in; each size is as likely as the next."""
        if self.sizes:
            return [(factor, *(move.factor for move in self.moves[1:])) for factor in self.sizes]
        decades = max(move.decades for move in self.moves)
        steps = np.linspace(-1, 1, max(SIZES, 1 + 2 * int(np.ceil(decades / STEP))))
        return [
            tuple(float(move.sized(size)) if move.decades else move.factor for move in self.moves) for size in steps
        ]

    def loosens(self, what: Parasitic) -> bool:
        """Does a wire come off its socket tag, a winding's end or a rectifier's anode? Such faults need the joints in
        the circuit."""
        return any(move.part_of is what for move in self.moves)

    def __post_init__(self):
        if not self.weight > 0:
            raise CallerError(f"The fault {self.key} needs a weight above zero.", argument="weight")
        if not self.words and self.code is FaultCode.OWN:
            raise CallerError(f"The fault {self.key} needs words or a code.", argument="words")
