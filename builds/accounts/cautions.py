"""The usual cautions of valve work, by key. Common practice; local codes and licensed practice come first."""

from django.utils.translation import gettext_lazy as _

CAUTIONS = {
    "lethal-voltage": (
        _("Lethal voltages"),
        _(
            "The supply in this kit can kill, and it stays charged after switch-off. "
            "Treat every node as live until your meter says otherwise."
        ),
    ),
    "one-hand": (
        _("One hand"),
        _("Clip the black lead to chassis first, then probe with one hand and keep the other in your pocket."),
    ),
    "discharge": (
        _("Discharge and verify"),
        _(
            "Switch off, pull the plug, wait, discharge the reservoir through a resistor, and check "
            "that it reads below 60 V DC before you put a hand inside. Measure again after a few "
            "minutes."
        ),
    ),
    "current-limited": (
        _("First power through a lamp"),
        _(
            "Bring a new build up through a series lamp or another current limiter. A lamp that stays "
            "bright means a short: switch off."
        ),
    ),
    "insulated-probes": (
        _("Probes and meter"),
        _("Use insulated probes and a meter and leads rated for the highest voltage here, 600 V CAT III or better."),
    ),
    "not-alone": (
        _("Not alone, not tired"),
        _(
            "Have somebody within call who knows where to cut the power. Stop when you are tired or "
            "in a hurry, or if you have been drinking."
        ),
    ),
    "children-pets": (_("Children and pets"), _("Keep children and animals out of the room while the case is open.")),
    "hot-glass": (_("Hot glass"), _("Valves and power resistors burn skin for minutes after switch-off.")),
    "mains-earth": (
        _("Mains earth"),
        _("The chassis must be joined to mains earth before any power. Never lift an earth to cure hum."),
    ),
    "fuse": (
        _("Fuse"),
        _("Fit only the fuse the guide names. A fuse blows for a reason: find the fault before you fit another."),
    ),
    "eye-protection": (_("Eyes"), _("Wear safety glasses: a reversed electrolytic can burst and clipped leads fly.")),
    "solder-fumes": (_("Solder"), _("Keep the air moving and wash your hands afterwards: solder may contain lead.")),
}


def cautions_for(keys):
    """(key, title, words) of each known key, in the order given."""
    return [(key, *CAUTIONS[key]) for key in keys if key in CAUTIONS]
