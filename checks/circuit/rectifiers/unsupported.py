"""Supplies that are not calculated, refused by name."""

from checks.circuit.netlist.unsupported import Unsupported


def unfilled(diode, nodes, choke: str) -> Unsupported:
    refs = "+".join(diode.refs)
    why = (
        f"its pulses pass the choke {choke} before they find a reservoir (choke input)"
        if choke
        else "no reservoir capacitor closes the way from it back to its winding"
    )
    return Unsupported(
        refs,
        frozenset(nodes),
        frozenset(nodes),
        f"the supply behind {refs} is not calculated here: {why}; give a figure of your own",
        True,
    )


def coupled(refs: str, nodes, alternating, through: str) -> Unsupported:
    by = f" through {through}" if through else ""
    return Unsupported(
        refs,
        frozenset(nodes),
        frozenset(alternating),
        f"{refs} gets alternating volts{by}, as in a multiplier: what that "
        "makes is not calculated here; give a figure of your own",
        True,
    )
