"""Supplies that are not calculated, refused by name."""

from checks.circuit.netlist.remark import RemarkCode, remark
from checks.circuit.netlist.unsupported import Unsupported


def without_reservoir(diode, nodes, choke: str) -> Unsupported:
    """A supply without a reservoir before its choke, or without any."""
    refs = "+".join(diode.refs)
    why = (
        remark(RemarkCode.CHOKE_INPUT, refs=refs, choke=choke) if choke else remark(RemarkCode.NO_RESERVOIR, refs=refs)
    )
    return Unsupported(refs, frozenset(nodes), frozenset(nodes), why, True)


def before_choke(refs: str, nodes) -> Unsupported:
    """The alternating volts between a rectifier and its choke."""
    return Unsupported(refs, frozenset(), frozenset(nodes), remark(RemarkCode.CHOKE_RIPPLE, refs=refs))


def inside_doubler(refs: str, node: int, charged: bool) -> Unsupported:
    """The point between a capacitor and its diodes; with a resistor for the charging diode its DC is known."""
    why = remark(RemarkCode.BEHIND_CAPACITOR, refs=refs)
    return Unsupported(refs, frozenset({node} if charged else ()), frozenset({node}), why)


def fed_with_ac(refs: str, nodes, alternating, through: str) -> Unsupported:
    """What gets alternating volts, by way of a capacitor or not, as in a multiplier."""
    why = (
        remark(RemarkCode.FED_THROUGH_CAPACITOR, refs=refs, capacitor=through)
        if through
        else remark(RemarkCode.FED_WITH_AC, refs=refs)
    )
    return Unsupported(refs, frozenset(nodes), frozenset(alternating), why, True)
