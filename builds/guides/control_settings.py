"""How a stage's controls are set: "RV1 = 1, RV2 = 0.5" in the editor, a table in the guide file, words on the bench.

1 is fully up (the wiper at the track's top), 0 fully down; between them it is the share of the track's resistance below
the wiper.
"""

import re

from django import forms
from django.utils.translation import gettext as _

PAIR = re.compile(r"\s*([^\s=,]+)\s*=\s*([0-9.]+)\s*")


class SettingsField(forms.CharField):
    """{"RV1": 1.0} typed as "RV1 = 1"."""

    def prepare_value(self, value):
        return (
            ", ".join(f"{ref} = {share:g}" for ref, share in value.items()) if isinstance(value, dict) else value or ""
        )

    def to_python(self, value):
        settings = {}
        for text in filter(str.strip, (value or "").split(",")):
            pair = PAIR.fullmatch(text)
            try:
                settings[pair[1]] = float(pair[2])  # type: ignore[index]  # no pair: a TypeError
            except (TypeError, ValueError):
                message = _("“%(text)s” cannot be read. Write controls as RV1 = 1, RV2 = 0.5.")
                raise forms.ValidationError(message % {"text": text.strip()[:30]}, code="settings") from None
        return settings or None


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
