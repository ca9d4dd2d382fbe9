"""What the circuit model has to say beside a figure, or instead of one: a code with its parameters."""

from dataclasses import dataclass, field
from enum import StrEnum


class RemarkCode(StrEnum):
    """Why a reading has no figure, and what to bear in mind with one that has. Parameters in brackets."""

    # A supply or a transformer that is not calculated.
    CHOKE_INPUT = "choke-input"  # refs, choke
    CHOKE_RIPPLE = "choke-ripple"  # refs
    BELOW_CRITICAL = "below-critical"  # refs, choke, milliamps, critical (mA), peak (V)
    NO_RESERVOIR = "no-reservoir"  # refs
    FED_WITH_AC = "fed-with-ac"  # refs
    FED_THROUGH_CAPACITOR = "fed-through-capacitor"  # refs, capacitor
    BEHIND_CAPACITOR = "behind-capacitor"  # refs
    BACK_TO_BACK = "back-to-back"  # ref, other
    OTHER_MAINS = "other-mains"  # ref, rated, mains
    MAINS_LEAD_BRANCHES = "mains-lead-branches"  # ref, parts
    MAINS_LEAD_PART = "mains-lead-part"  # ref, part, kind
    # A reading that the model cannot give.
    NOT_ELECTRICAL = "not-electrical"  # measure
    PLACE_IN_WORDS = "place-in-words"
    POWER_IS_ON = "power-is-on"
    POWER_IS_OFF = "power-is-off"
    NOT_JOINED = "not-joined"  # red, black
    NO_DC_PATH = "no-dc-path"  # point
    NOTHING_HOLDS = "nothing-holds"  # point
    OPEN = "open"
    SIGNAL_CLIPS = "signal-clips"  # ref, level, most (V rms)
    SIGNAL_ONLY = "signal-only"
    NOT_SETTLED = "not-settled"
    # To bear in mind.
    NO_MAINS = "no-mains"  # part, ref
    LOAD_LEFT_OUT = "load-left-out"  # refs
    HEATER_COOL = "heater-cool"  # ref, volts, rated
    HEATER_HOT = "heater-hot"  # ref, volts, rated
    REGULATOR_OFF = "regulator-off"  # ref, volts, rated
    ZENER_FORWARD = "zener-forward"  # ref
    MOSFET_BACKWARDS = "mosfet-backwards"  # ref
    TRANSISTOR_TURNED = "transistor-turned"  # ref
    IDLE_LAMP = "idle-lamp"
    NO_FULL_POWER = "no-full-power"


@dataclass(frozen=True)
class Remark:
    code: RemarkCode
    params: dict = field(default_factory=dict)

    def __str__(self) -> str:
        """For developers; the site makes its sentence in builds/ui/messages/circuit.py."""
        return f"{self.code.value} {self.params}" if self.params else self.code.value

    def as_dict(self) -> dict:
        return {"code": self.code.value, "params": self.params}


def remark(code: RemarkCode, **params) -> Remark:
    return Remark(code, params)
