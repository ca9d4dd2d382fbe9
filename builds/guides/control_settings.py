"""How a stage's controls are set: the rules, and what the builder is told.

1 is fully up (the wiper at the track's top), 0 fully down; between them it is the share of the track's resistance below
the wiper.
"""

from django.utils.translation import gettext as _


def settings_rules(settings: dict, kinds: dict):
    """Yield (key, message) unless every setting is a share of a potentiometer's track; `kinds` are {reference: kind},
    if known."""
    for ref, share in settings.items():
        if isinstance(share, bool) or not isinstance(share, int | float) or not 0 <= share <= 1:
            message = _("%(ref)s is set to %(share)s. Accepted: 0.0 (fully down) to 1.0 (fully up).")
            yield "settings", message % {"ref": ref, "share": repr(share)}
        elif kinds.get(ref) != "potentiometer":
            yield "settings", _("%(ref)s is not a potentiometer of the parts list.") % {"ref": ref}


def setting_label(ref: str, share: float, note: str = "") -> str:
    """What the builder does with one control."""
    name = f"{ref} ({note})" if note else ref
    if share == 1:
        return _("Turn %(control)s fully up.") % {"control": name}
    if share == 0:
        return _("Turn %(control)s fully down.") % {"control": name}
    return _(
        "Turn %(control)s until %(share)d %% of its track lies below the wiper. "
        "Measure this: many controls are not linear."
    ) % {"control": name, "share": round(100 * share)}
