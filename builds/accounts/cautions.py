"""The usual cautions of valve work, by key. Common practice; local codes and licensed practice come first."""

CAUTIONS = {
    "lethal-voltage": (
        "Lethal voltages",
        "The supply in this kit can kill, and it stays charged after switch-off. "
        "Treat every node as live until your meter says otherwise.",
    ),
    "one-hand": (
        "One hand",
        "Clip the black lead to chassis first, then probe with one hand and keep the other in your pocket.",
    ),
    "discharge": (
        "Discharge and verify",
        "Switch off, pull the plug, wait, discharge the reservoir through a resistor, "
        "and measure below 60 V DC before a hand goes in. Measure again after a few minutes.",
    ),
    "current-limited": (
        "First power through a lamp",
        "Bring a new build up through a series lamp or another current "
        "limit. A lamp that stays bright means a short: switch off.",
    ),
    "insulated-probes": (
        "Probes and meter",
        "Use insulated probes and a meter and leads rated for the highest voltage here, 600 V CAT III or better.",
    ),
    "not-alone": (
        "Not alone, not tired",
        "Have somebody within call who knows where to cut the power. Stop when you "
        "are tired, hurried or have been drinking.",
    ),
    "children-pets": ("Children and pets", "Keep children and animals out of the room while the case is open."),
    "hot-glass": ("Hot glass", "Valves and power resistors burn skin for minutes after switch-off."),
    "mains-earth": (
        "Mains earth",
        "The chassis must be joined to mains earth before any power. Never lift an earth to cure hum.",
    ),
    "fuse": ("Fuse", "Fit only the fuse the guide names. A fuse that blows twice is telling you something: find it."),
    "eye-protection": ("Eyes", "Wear glasses: a reversed electrolytic can burst and clipped leads fly."),
    "solder-fumes": ("Solder", "Work in moving air and wash your hands; solder may hold lead."),
}


def cautions_for(keys):
    """(key, title, words) of each known key, in the order given."""
    return [(key, *CAUTIONS[key]) for key in keys if key in CAUTIONS]
