"""Supplies that are not calculated, refused by name."""

from checks.circuit.beyond import Refusal


def unfilled(diode, nodes, choke: str) -> Refusal:
    refs = "+".join(diode.refs)
    why = (
        f"its pulses pass the choke {choke} before they find a reservoir (choke input)"
        if choke
        else "no reservoir capacitor closes the way from it back to its winding"
    )
    return Refusal(
        refs,
        frozenset(nodes),
        frozenset(nodes),
        f"the supply behind {refs} is not calculated here: {why}; give a figure of your own",
        True,
    )


def coupled(refs: str, nodes, alternating, through: str) -> Refusal:
    by = f" through {through}" if through else ""
    return Refusal(
        refs,
        frozenset(nodes),
        frozenset(alternating),
        f"{refs} gets alternating volts{by}, as in a multiplier: what that "
        "makes is not calculated here; give a figure of your own",
        True,
    )
