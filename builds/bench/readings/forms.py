"""Forms for what a meter shows: a field for the figure and buttons for the unit beside it."""

from uuid import uuid4

from django import forms

from builds.guides.figures import band_for
from checks.entry import SHOWN, in_unit, needs_unit, unit_for, with_unit
from checks.quantity import format_typed

LETTERS = ("resistance", "continuity", "isolation")  # where a prefix or OL is the rule, without scripts for the keys


class EntryForm(forms.Form):
    entry_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)


class MeterForm(EntryForm):
    """What the meter shows. `sure`: the builder was asked whether a thousand times more or less was meant, and
    answered.

    Cleaned, `typed` carries the chosen unit. `ask` is set where the question is to be put first.
    """

    typed = forms.CharField(
        label="Meter shows",
        max_length=40,
        error_messages={"required": "Type what the meter shows."},
        widget=forms.TextInput(
            attrs={
                "autocomplete": "off",
                "autocapitalize": "off",
                "spellcheck": "false",
                "class": "reading num",
                "inputmode": "decimal",
                "enterkeyhint": "done",
            }
        ),
    )
    unit = forms.ChoiceField(label="Unit on the meter", required=False, widget=forms.RadioSelect)
    sure = forms.BooleanField(required=False)
    ask = None

    def __init__(self, *args, shows, chosen="", letters=False, **kwargs):
        super().__init__(*args, **kwargs)
        self.shows = shows
        self.fields["unit"].choices = [(unit, unit) for unit in SHOWN.get(shows, ())]
        self.fields["unit"].initial = chosen
        if letters:  # a decimal pad has no letters, and many have no minus
            self.fields["typed"].widget.attrs["inputmode"] = "text"

    def clean(self):
        data = super().clean()
        text, unit = data.get("typed", ""), data.get("unit", "")
        if not unit and self.shows == "Ω" and needs_unit(text):
            self.add_error("unit", "Choose Ω, kΩ or MΩ, as the meter shows it.")
        elif text:
            data["typed"] = in_unit(text, unit)[:40]
        return data

    def put_question(self, meant, typed: str) -> None:
        """Ask before judging: was `meant` (a Quantity) meant?"""
        meant, typed = format_typed(meant), with_unit(typed, self.shows)
        self.ask = {"meant": meant, "typed": typed, "answers": [(f"Yes, {meant}", meant), (f"No, {typed}", typed)]}


class ReadingForm(MeterForm):
    is_slip = forms.BooleanField(required=False, label="My last entry was a typing slip; this corrects it")

    def __init__(self, *args, check, **kwargs):
        shows, band = "V" if check.through else check.unit, band_for(check)
        limits = (band.low, band.high, band.expected) if band and not check.through else (None, None, None)
        below_zero = band is not None and any(x is not None and x < 0 for x in (band.low, band.stop_below))
        super().__init__(
            *args,
            shows=shows,
            chosen=unit_for(*limits, shows),
            letters=check.measure in LETTERS or below_zero,
            **kwargs,
        )


class MeterCheckForm(MeterForm):
    """What the meter shows on one of the kit's test pieces."""

    def __init__(self, *args, piece, **kwargs):
        shows = "Ω" if piece.function == "resistance" else "V"
        chosen = unit_for(piece.value, piece.value, piece.value, shows)
        super().__init__(*args, shows=shows, chosen=chosen, letters=shows == "Ω", **kwargs)


class ExtraForm(MeterForm):
    """A resistance that the guide does not ask for: no figure says beforehand which unit the meter will show."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, shows="Ω", letters=True, **kwargs)
