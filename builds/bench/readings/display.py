"""What a page says of a stored reading, beside the verdict."""

from django.utils.translation import gettext as _

from builds.ui.formatting import format_entry, format_figure


def without_load(reading, unit: str) -> str:
    """The sentence that tells a reading corrected for the meter's load from what was typed; empty where they read the
    same."""
    if reading.check_row.through or reading.true_value in (None, reading.value):
        return ""
    typed, true = format_figure(reading.value, unit), format_figure(reading.true_value, unit)
    if typed == true:
        return ""
    return _("%(typed)s typed; %(true)s without your meter’s load.") % {
        "typed": format_entry(reading.typed, unit),
        "true": true,
    }
