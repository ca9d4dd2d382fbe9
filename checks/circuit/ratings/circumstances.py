"""In what circumstances a part's stresses are computed, and in which its limits hold (IEC 60134:1961)."""

NOMINAL, HIGH_MAINS, BUILDS, SWITCH_ON = "nominal", "high mains", "97.5 % of builds", "switch-on"
EVERYWHERE = (NOMINAL, HIGH_MAINS, BUILDS, SWITCH_ON)
JUDGED_AT = {"design centre": (NOMINAL,), "design maximum": (NOMINAL, HIGH_MAINS)}
