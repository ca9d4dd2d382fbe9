"""Parts as they come out of the bag: every value drawn within its tolerance, some of them a batch at a time."""

import math

import numpy as np

from tests.trials.circuit import VALVES, Circuit
from tests.trials.figures import percent

BATCHES = ("A", "B", "C")
MAINS = ((230.0, 0.6), (238.0, 0.25), (224.0, 0.15))  # what a country's sockets give on the whole; common practice


def truncated(rng, middle: float, half: float, sigmas: float = 2.5) -> float:
    """A normal draw whose tails are cut at middle +- half, `half` being so many standard deviations."""
    while abs(z := rng.standard_normal()) > sigmas:
        pass
    return middle + half * z / sigmas


def draw_mains(rng) -> float:
    """Volts at the socket, within 10 % of 230."""
    middle = rng.choice([m for m, _ in MAINS], p=[share for _, share in MAINS])
    return float(min(253.0, max(207.0, middle * truncated(rng, 1.0, 0.05))))


def batch_of(kit: str, letter: str, seed: int) -> np.random.Generator:
    """The same draws for every build of a batch."""
    return np.random.default_rng([seed, sum(map(ord, kit)), ord(letter)])


def scatter(circuit: Circuit, rng, batch) -> None:
    """Give every part its own value. Half of the resistors' spread is their batch's."""
    for part in circuit.parts.values():
        row, values = part.row, part.is_
        half = percent(row["tolerance"]) if "tolerance" in row else 0.1
        for name in ("ohms", "farads", "volts", "henries"):
            if values.get(name) and part.kind not in (*VALVES, "fuse", "switch", "diode"):
                common = truncated(batch, 0.0, half / 2)
                values[name] *= 1 + common + truncated(rng, 0.0, half / 2)
        if part.kind in ("mains transformer", "output transformer"):
            _transformer(values["coils"], rng, batch)
        elif part.kind in VALVES:
            _valve(part, rng)
        elif part.kind == "electrolytic":
            values["leak"] = 10 ** rng.uniform(7.0, 8.5)


def _transformer(coils, rng, batch):
    """Turns to half a per cent, all of a batch's a little off; copper to 8 %."""
    off = truncated(batch, 0.0, 0.015)
    copper = truncated(batch, 0.0, 0.05)
    for coil in coils:
        coil["volts"] *= 1 + (off if coil["name"] != "primary" else 0) + truncated(rng, 0.0, 0.005)
        coil["ohms"] *= 1 + copper + truncated(rng, 0.0, 0.03)


def _valve(part, rng):
    """Production spreads by 20 to 30 % (a maker's limits for 6SN7, 6V6GT, EL34); sections share most of it."""
    common = rng.standard_normal()
    for n in range(len(part.is_["strength"])):
        z = math.sqrt(0.6) * common + math.sqrt(0.4) * rng.standard_normal()
        part.is_["strength"][n] = float(np.clip(math.exp(0.11 * z), 0.7, 1.3))
        part.is_["mu"][n] = truncated(rng, 1.0, 0.08)
        part.is_["gas"][n] = float(
            10 ** rng.uniform(-6.5, -5.0)
        )  # ions per electron; a good valve's grid draws nanoamperes
