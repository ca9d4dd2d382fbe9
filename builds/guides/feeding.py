"""What a stage asks of the bench before its checks are read: controls set, and the volts or the lamp its mains comes
through."""

from django.utils.translation import gettext as _

from builds.guides.control_settings import setting_label
from builds.ui.formatting import format_figure
from checks.quantity import parse_quantity


def variac_volts(stage) -> float | None:
    """The mains, in V of the guide's reference, that a stage sets by a variable transformer; None when it takes the
    line as it is."""
    text = stage.supply.get("volts") if stage.is_powered and stage.supply else None
    return parse_quantity(str(text), "V").value if text else None


def setting_sentences(stage, share: float = 1.0, parts: dict | None = None) -> list[str]:
    """Sentences for the builder, in order. `share` is the primary tap in use over the guide's own: volts go with it.

    `parts` are the guide's by reference, for what they are called.
    """
    notes = {ref: part.note.split(":")[0].split(";")[0] for ref, part in (parts or {}).items()}
    controls = [setting_label(ref, setting, notes.get(ref, "")) for ref, setting in (stage.settings or {}).items()]
    return [*_fed(stage, share), *controls]


def _fed(stage, share: float) -> list[str]:
    if not stage.is_powered or not stage.supply:
        return []
    volts, lamp = variac_volts(stage), stage.supply.get("lamp")
    if volts:
        sentence = _(
            "Feed the kit from a variable transformer set to %(volts)s, measured at its outlet. "
            "The readings of this stage apply at that voltage, whatever your mains voltage is."
        )
        return [sentence % {"volts": format_figure(volts * share, "V")}]
    sentence = _(
        "Feed the kit through a lamp of %(lamp)s in series, made for your mains voltage. "
        "The readings of this stage apply with the lamp in circuit."
    )
    return [sentence % {"lamp": lamp}]
