"""What may be wrong between the mains and the reservoir: windings, fuses, switch, rectifiers, taps and the mains
itself."""

from checks.circuit.assemble.network import FUSE_VOLTS
from checks.circuit.netlist.network import winding_ohms
from checks.diagnosis.fault import SHORT, Move, opened
from checks.diagnosis.prior_weights import fault

NO_MAINS = Move("line", "volts", 1e-3)


def iron(parts):
    """Faults of transformers and chokes."""
    for p in parts:
        for w in p.windings:
            moves = [Move(p.ref, f"{w.name} ohms", opened(winding_ohms(p, w)))]
            if w.name == "primary" and p.kind == "mains transformer":
                moves.append(NO_MAINS)
            yield fault(
                f"{p.ref} {w.name} open",
                f"{p.ref}'s {w.name} winding is open or not joined",
                "winding",
                [p.ref],
                moves,
                look=f"Measure {p.ref}'s {w.name} winding with the power off.",
            )
        if p.kind == "inductor":
            yield fault(
                f"{p.ref} open",
                f"{p.ref} is open or not joined",
                "winding",
                [p.ref],
                [Move(p.ref, "ohms", opened(p.ohms))],
                look=f"Measure {p.ref} with the power off.",
            )


def supply(parts):
    """Faults of fuses, mains switch and rectifiers, and of how the mains comes in."""
    fuses = [_blown(p) for p in parts if p.kind == "fuse"]
    for p in parts:
        if p.kind == "fuse":
            yield fault(
                f"{p.ref} blown",
                f"{p.ref} has blown or makes no contact",
                "fuse",
                [p.ref],
                _blown(p),
                look=f"Take {p.ref} out and measure it. A fuse blows for a reason.",
            )
        if p.kind == "switch" and _in_mains(p):
            yield fault(
                f"{p.ref} open",
                f"{p.ref} does not close, or one of its tags is not joined",
                "open",
                [p.ref],
                [NO_MAINS],
                look=f"Take the plug out. Measure across {p.ref} with it on.",
            )
        if p.kind in ("diode", "bridge"):
            yield fault(
                f"{p.ref} open",
                f"{p.ref} is open or not joined",
                "diode",
                [p.ref],
                without=(p.ref,),
                look=f"Look at the joints of {p.ref}; measure it with the power off.",
            )
            if fuses:  # on every other half wave it shorts the winding through the other diode, until a fuse goes
                yield fault(
                    f"{p.ref} reversed",
                    f"{p.ref} is the wrong way round, or shorted, and has blown the fuse",
                    "diode",
                    [p.ref],
                    fuses[0],
                    look=f"Look for the ring on {p.ref}; measure it both ways with the power off.",
                )
        if p.kind == "rectifier valve":
            yield fault(
                f"{p.ref} dead",
                f"{p.ref} passes no current: it is dead or stays cold",
                "dead",
                [p.ref],
                [Move(p.ref, "strength", SHORT)],
                look=f"Does {p.ref} glow? Try another.",
            )
            yield fault(
                f"{p.ref} heater",
                f"{p.ref}'s heater gets no volts, or is open",
                "heater",
                [p.ref],
                [Move(p.ref, "strength", SHORT)],
                dead_heaters=(p.ref,),
                look=f"Does {p.ref} glow? Look at its heater pins.",
            )
            yield fault(
                f"{p.ref} weak",
                f"{p.ref} is weak",
                "weak",
                [p.ref],
                [Move(p.ref, "strength", 0.3)],
                look=f"Try another {p.type}.",
            )
    if any(p.kind == "mains transformer" for p in parts):
        yield from _mains()


def _in_mains(p) -> bool:
    return any(n.startswith("mains") for n in p.nodes)


def _blown(p) -> list[Move]:
    return [NO_MAINS] if _in_mains(p) else [Move(p.ref, "ohms", opened(p.ohms or FUSE_VOLTS / (p.value or 1.0)))]


def _mains():
    for factor, words in (
        (0.5, "the primary is wired for twice your mains"),
        (2.0, "the primary is wired for half your mains"),
    ):
        yield fault(
            f"tap x{factor:g}",
            words,
            "tap",
            [],
            [Move("line", "volts", factor)],
            look="Switch off. Compare the primary's wiring with the label on the transformer.",
        )
    for factor, words in (
        (0.88, "the mains is far below what was assumed"),
        (1.12, "the mains is far above what was assumed"),
    ):
        yield fault(
            f"mains x{factor:g}",
            words,
            "mains",
            [],
            [Move("line", "volts", factor)],
            look="Read the mains with a plug-in meter.",
        )
