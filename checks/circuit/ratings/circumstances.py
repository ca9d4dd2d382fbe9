"""In what circumstances a part's stresses are computed, and in which its limits hold (IEC 60134:1961)."""

from enum import StrEnum


class Circumstance(StrEnum):
    """Nominal mains; the highest mains the supply may have; 97.5 % of good builds at the highest mains; these at
    switch-on, before any valve draws current."""

    NOMINAL = "nominal"
    HIGH_MAINS = "high mains"
    BUILDS = "builds at high mains"
    SWITCH_ON = "builds at switch-on"


NOMINAL, HIGH_MAINS, BUILDS, SWITCH_ON = Circumstance
EVERYWHERE = tuple(Circumstance)
JUDGED_AT = {"design centre": (NOMINAL,), "design maximum": (NOMINAL, HIGH_MAINS)}
