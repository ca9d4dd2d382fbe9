"""A rectifier by itself, outside any circuit."""

from checks.circuit.rectifiers.conduction import Law
from checks.circuit.rectifiers.secondaries import Group


def lone(kind, coupling=1e-7, **more):
    """A capacitor-fed rectifier of 141.4 V peak behind 20 ohms."""
    group = Group(("T1", "ht", 0), ((20.0, 0),))
    own = {"ref": "D1", "coil": ("T1", "ht"), "feed": 0, "source": 0, "sink": 1, "reservoir": (1, 2), "emf": 141.42}
    own |= {"ratio": 0, "groups": (group,), "turns": 0.6, "seen": (), "law_of": Law(), "strength": 0, "end": 0}
    return kind(**own, back=2, phase=1.0, sign=1.0, coupling=coupling, **more)
