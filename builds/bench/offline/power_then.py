"""Whether a kit counted as live at a moment: what was kept on a phone is judged as the kit was when it was made."""

from datetime import datetime

from django.db.models import Max

from checks.outcomes import Outcome


def was_live(build, at: datetime) -> bool:
    """From the same record as gating.find_power: power put on record, powered readings and a
    charged reservoir, against made-safe ones."""
    powered = build.readings.filter(check_row__stage__power="on", at__lte=at)
    lives = (
        build.power_ons.filter(at__lte=at).aggregate(last=Max("at"))["last"],
        powered.aggregate(last=Max("at"))["last"],
        build.readings.filter(outcome=Outcome.SWITCH_OFF, at__lte=at).aggregate(last=Max("at"))["last"],
        build.made_safes.filter(is_safe=False, at__lte=at).aggregate(last=Max("at"))["last"],
    )
    last_live = max((moment for moment in lives if moment), default=None)
    last_safe = build.made_safes.filter(is_safe=True, at__lte=at).aggregate(last=Max("at"))["last"]
    return last_live is not None and (last_safe is None or last_safe < last_live)
