"""Forms for what a meter shows: a field for the figure and buttons for the unit beside it."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from builds.bench.readings.context import ReadingContext
from builds.bench.readings.entry_keys import EntryForm
from builds.ui.messages.errors import message_for
from checks.entry import SHOWN, choose_unit, with_unit
from checks.errors import ChecksError
from checks.outcomes import OFF
from checks.quantity import format_typed

TYPED = 40  # characters of an entry that a row keeps


class MeterForm(EntryForm):
    """What the meter shows. `sure`: the builder was asked whether a thousand times more or less was meant, and
    answered.

    Cleaned, `typed` carries the chosen unit. `ask` is set where the question is to be put first.
    """

    typed = forms.CharField(
        label=_("Meter shows"),
        max_length=TYPED - len(" mV dc"),  # the unit chosen is stored with it, and is never cut off
        error_messages={"required": _("Type what the meter shows.")},
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
    unit = forms.ChoiceField(label=_("Unit on the meter"), required=False, widget=forms.RadioSelect)
    sure = forms.BooleanField(required=False)
    ask: dict[str, Any] | None = None
    asks_at = "typed"

    def __init__(self, *args, shows, chosen="", letters=False, band=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.shows, self.chosen, self.band = shows, chosen, band
        units = SHOWN.get(shows, ())
        unit = self.fields["unit"]
        assert isinstance(unit, forms.ChoiceField)
        unit.choices = list(zip(units, units, strict=True))
        unit.initial = chosen
        if letters:  # a decimal pad has no letters, and many have no minus
            self.fields["typed"].widget.attrs["inputmode"] = "text"

    def clean(self):
        data = super().clean() or {}
        if data.get("typed"):
            try:
                unit = data.get("unit", "")
                data["typed"] = choose_unit(data["typed"], unit, self.shows, self.band, self.chosen)
            except ChecksError as error:
                self.refuse(error)
        return data

    def refuse(self, error: ChecksError) -> None:
        """Put an error of the entry beside the field it is about."""
        field = "unit" if error.argument == "unit" else "typed"
        self.add_error(field, forms.ValidationError(message_for(error), code=error.code))

    def put_question(self, meant, typed: str) -> None:
        """Ask before judging: was `meant` (a Quantity) meant? What was typed comes first: it is the meter's figure."""
        meant, typed = format_typed(meant), with_unit(typed, self.shows)
        self.ask = {"meant": meant, "typed": typed, "answers": [(typed, typed), (meant, meant)]}


class ReadingForm(MeterForm):
    is_slip = forms.BooleanField(required=False, label=_("This corrects a typing error in my last entry"))

    def __init__(self, *args, context: ReadingContext, **kwargs):
        self.context = context
        band = context.meter_band
        below_zero = band is not None and min(band.low or 0.0, band.stop_below or 0.0) < 0
        super().__init__(
            *args,
            shows=context.measure.shows,
            chosen=context.unit_beforehand,
            letters=context.measure.is_ohms or below_zero,
            band=band,
            **kwargs,
        )

    def put_question(self, meant, typed: str) -> None:
        """Where what was typed would pass, no meter shows it (`beyond`): what was meant comes first."""
        super().put_question(meant, typed)
        assert self.ask is not None  # just put
        self.ask["beyond"] = self.context.judged(typed).result[2].outcome not in OFF
        if self.ask["beyond"]:
            self.ask["answers"].reverse()


class MeterCheckForm(MeterForm):
    """What the meter shows on one of the kit's test pieces."""

    def __init__(self, *args, piece, **kwargs):
        shows = "Ω" if piece.function == "resistance" else "V"
        chosen = "V" if shows == "V" else ""  # nothing stops here, and a battery's millivolts are asked about
        super().__init__(*args, shows=shows, chosen=chosen, letters=shows == "Ω", **kwargs)


class ExtraForm(MeterForm):
    """A resistance that the guide does not ask for: no figure says beforehand which unit the meter will show."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, shows="Ω", letters=True, **kwargs)
