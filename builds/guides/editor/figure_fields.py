"""Fields of a check whose figure is worked out or recorded: the tables `formula` and `recording` of a guide file."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.guides.editor.fields import ListField
from builds.ui.messages.quantities import measure_label
from builds.ui.messages.recordings import CHANNEL_LABELS, SIGNAL_LABELS
from checks.measures import MEASURES

GROUP = (
    gettext_lazy("Figure of the finished amplifier"),
    gettext_lazy("Only for figures that no meter shows, such as output power or distortion."),
    ("of", "signal", "channel", "loads", "pad", "series", "tolerance", "hertz", "drop", "reference", "at", "seconds"),
)


def measure_choices() -> list:
    """Measurements, in two groups: what a meter reads, and figures of the finished amplifier."""
    groups: dict[bool, list] = {True: [], False: []}
    for code, measure in MEASURES.items():
        groups[measure.is_read].append((code, measure_label(code)))
    return [(_("Read with a meter"), groups[True]), (_("Figures of the finished amplifier"), groups[False])]


class FigureSourceFields(forms.Form):
    """The fields, and the tables they stand for. The form it is mixed into has the check as its instance."""

    of = ListField(
        required=False,
        label=gettext_lazy("Calculated from these checks"),
        help_text=gettext_lazy(
            "Short names separated by commas, in the order of the formula: output, input for a gain; hum, full "
            "output for a level; light load, heavy load for an output impedance; without and with the resistor in "
            "series for an input impedance; the source for an input sensitivity."
        ),
    )
    signal = forms.ChoiceField(
        required=False,
        label=gettext_lazy("Or recorded from this test signal"),
        choices=[("", "—"), *SIGNAL_LABELS.items()],
    )
    channel = forms.ChoiceField(
        required=False, label=gettext_lazy("Channel"), choices=[("", "—"), *CHANNEL_LABELS.items()]
    )
    loads = ListField(
        required=False,
        label=gettext_lazy("Load"),
        help_text=gettext_lazy("Such as 8 ohm; for an output impedance two, such as none, 8 ohm."),
    )
    pad = ListField(
        required=False,
        label=gettext_lazy("Pad at the input"),
        help_text=gettext_lazy(
            "Where the source is read before two resistors: the one in series, then the one across the input, such as "
            "10k, 100R."
        ),
    )
    series = forms.CharField(
        required=False,
        max_length=20,
        label=gettext_lazy("Resistor in series with the source"),
        help_text=gettext_lazy("For an input impedance, such as 100k."),
    )
    tolerance = forms.CharField(
        required=False,
        max_length=20,
        label=gettext_lazy("Tolerance of load, pad and resistor in series"),
        help_text=gettext_lazy("Such as 1%. Blank: 5%."),
    )
    hertz = ListField(
        required=False,
        label=gettext_lazy("Frequency in hertz"),
        help_text=gettext_lazy("Such as 1000; for a band edge one for each check."),
    )
    drop = forms.FloatField(
        required=False, label=gettext_lazy("Band edge, dB below the reference"), help_text=gettext_lazy("Blank: 3 dB.")
    )
    reference = forms.FloatField(
        required=False,
        label=gettext_lazy("Reference frequency in hertz"),
        help_text=gettext_lazy("For a band edge calculated from volts. Blank: 1000."),
    )
    at = forms.CharField(
        required=False,
        max_length=20,
        label=gettext_lazy("Power at"),
        help_text=gettext_lazy("Clipping, or a distortion such as 1%. Blank: clipping."),
    )

    seconds = forms.FloatField(
        required=False,
        label=gettext_lazy("Length of the test signal, in seconds"),
        help_text=gettext_lazy("Blank: 10."),
    )

    def fill_from(self, check) -> None:
        """Show what the check's tables say."""
        table = self.had = check.recording or check.formula or {}
        for name in FIELDS:
            if name in table:
                value = table[name]
                self.fields[name].initial = _as_list(value) if name == "hertz" else value
        loads = table.get("loads") or ([table["load"]] if table.get("load") else [])
        self.fields["loads"].initial = loads

    def tables(self, data: dict) -> dict:
        """The guide file's `formula` or `recording`, from cleaned data; neither where nothing was filled in."""
        common = {name: data[name] for name in ("drop",) if data.get(name) is not None}
        if data.get("tolerance"):
            common["tolerance"] = data["tolerance"]
        if data.get("hertz"):
            common["hertz"] = [_number(text) for text in data["hertz"]]
        if data.get("signal"):
            load = {"load": data["loads"][0]} if data.get("loads") else {}
            own = {name: data[name] for name in ("signal", "channel", "at", "seconds") if data.get(name)}
            if len(common.get("hertz", [])) == 1 and not isinstance((self.had or {}).get("hertz"), list):
                common["hertz"] = common["hertz"][0]
            return {"recording": own | load | common}
        if not data.get("of"):
            return {}
        loads = data.get("loads") or []
        load = {"load": loads[0]} if len(loads) == 1 else {"loads": loads} if loads else {}
        own = {name: data[name] for name in ("of", "pad", "series", "reference") if data.get(name)}
        return {"formula": own | load | common}


def _as_list(value) -> list[str]:
    return [str(v) for v in (value if isinstance(value, list) else [value])]


def _number(text: str):
    """Hertz as typed; what is no number stays as it is, and the rules say so."""
    try:
        value = float(text.lower().removesuffix("hz").strip())
    except ValueError:
        return text
    return int(value) if value.is_integer() else value


FIELDS = GROUP[2]
