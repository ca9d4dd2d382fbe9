"""One thing that may be wrong: how it changes the circuit, how likely it is, and how it is told."""
from dataclasses import dataclass

from checks.errors import ChecksError

OPEN_OHMS, SHORT = 3e8, 1e-6  # what an open joint comes to; multiplier of a short


def opened(ohms: float) -> float:
    """The multiplier that makes a resistance an open circuit."""
    return max(100.0, OPEN_OHMS / ohms)


@dataclass(frozen=True)
class Move:
    """Multiply one parameter of the circuit (a part's value, a winding's ohms, a valve's strength, the line) by a factor."""

    ref: str
    what: str
    factor: float

    def __post_init__(self):
        if not self.factor > 0:
            raise ChecksError(f"A fault multiplies {self.ref} {self.what} by something above zero.", argument="factor")


@dataclass(frozen=True)
class Fault:
    """A change of the circuit with its words.

    `moves` multiply parameters; `without` are parts left out altogether; `dead_heaters` valves whose sockets get no heater
    volts. `weight` is its share among all faults before any reading (see listing.py); `kind` groups faults for learning; `look`
    says where to look.
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

    @property
    def loosens(self) -> bool:
        """Does a wire come off its socket tag? Such faults need the joints in the circuit."""
        return any(" joint " in move.ref for move in self.moves)

    def __post_init__(self):
        if not self.weight > 0:
            raise ChecksError(f"The fault {self.key} needs a weight above zero.", argument="weight")
        if not self.words:
            raise ChecksError(f"The fault {self.key} needs words.", argument="words")
