"""Checks before power that need no figure from the circuit: the mains earth, and that no supply is shorted."""

import math

from django.utils.translation import gettext as _

from builds.guides.proposals.candidates import Candidate
from builds.guides.proposals.proposal import Proposal
from checks.circuit.netlist.remark import RemarkCode

EARTH_BOND = 0.5  # Ω, with the probes' own resistance taken off (common practice; appliance tests allow less)
NO_SHORT = (
    10e3  # Ω: a supply that leads nowhere reads more than this once its capacitors have charged (common practice)
)


def earth_bond(stage: str, row: dict) -> Proposal:
    note = _("Touch the probes together first and subtract that reading.")
    row = {k: v for k, v in row.items() if k not in ("expected", "figure_from")} | {"note": note, "at_most": "0.5 Ω"}
    return Proposal(stage, row, 0.0, 0.0, EARTH_BOND, "Ω")


def is_open_supply(candidate: Candidate, reason) -> bool:
    return candidate.what == "rail-ohms" and reason is not None and reason.code == RemarkCode.OPEN


def no_short(stage: str, row: dict) -> Proposal:
    """A supply with nothing across it: over range is good, a low reading is a short or a reversed capacitor."""
    note = _("The reading climbs as the capacitors charge. Wait until it has passed 10 kΩ; over range is fine.")
    row = {k: v for k, v in row.items() if k not in ("expected", "figure_from")} | {"note": note, "at_least": "10 kΩ"}
    return Proposal(stage, row, math.inf, NO_SHORT, math.inf, "Ω")
