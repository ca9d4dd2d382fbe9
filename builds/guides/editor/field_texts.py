"""What the editor's forms say: labels, help, and which fields belong together."""

from django.utils.translation import gettext_lazy as _

from builds.guides.editor.examples import EXAMPLES

KEY_HELP = _(
    "Lower-case letters, digits and hyphens. Readings are saved under this name, so keep it from one revision to "
    "the next."
)
NEW_KEY_HELP = _(
    "Lower-case letters, digits and hyphens. Left blank, it is made from the words. Readings are saved under this "
    "name, so keep it from one revision to the next."
)

GUIDE_LABELS = {
    "name": _("Name"),
    "summary": _("Summary"),
    "mains_volts": _("Mains voltage"),
    "mains_hertz": _("Mains frequency"),
}
GUIDE_HELP = {
    "mains_volts": _(
        "All voltages in the guide apply at this mains voltage. They are converted to each builder’s own."
    ),
    "summary": _("What the kit is, in a few lines. Markdown."),
}
TAPS_LABEL = _("Taps of the mains transformer")
TAPS_HELP = _("The mains voltages its primary takes, separated by commas: 115, 230.")

STAGE_LABELS = {
    "key": _("Short name"),
    "title": _("Title"),
    "intro": _("Introduction"),
    "minutes": _("Time needed, in minutes"),
    "power": _("Mains power in this stage"),
    "gate": _("Gate: the next stage stays locked until the checks of this one are passed"),
}
STAGE_HELP = {"key": KEY_HELP, "intro": _("Shown above the steps. Markdown.")}
STAGE_GROUPS = (
    (_("Power"), "", ("power", "supply_lamp", "supply_volts", "settings", "not_fitted", "cautions", "gate")),
)
NOT_FITTED_LABEL = _("Parts not fitted yet")
NOT_FITTED_HELP = _("References separated by commas, such as V1, V2.")
CAUTIONS_LABEL = _("Cautions")
LAMP_LABEL = _("Series lamp")
LAMP_HELP = _("A lamp for the mains voltage in series with the kit, such as 60 W.")
VOLTS_LABEL = _("Reduced mains voltage")
VOLTS_HELP = _("For example 115 V from a variable transformer. Leave both blank for the full mains.")
SETTINGS_LABEL = _("Control positions")
SETTINGS_HELP = _(
    "A control such as RV1, and where it is set: 1 is fully up, 0 fully down, 0.5 half of the track. Blank: as in the "
    "parts list."
)

STEP_LABELS = {
    "key": _("Short name"),
    "text": _("What to do"),
    "hands_in": _("Hands go inside the kit"),
    "photo": _("Photo of the work"),
}
STEP_HELP = {
    "key": KEY_HELP,
    "text": _("One thing to do, in Markdown: **bold**, *italic*, lists."),
    "hands_in": _(
        "For example fitting the valves. Once the power has been on, the builder must first log a made-safe reading."
    ),
    "photo": _("Required: the step cannot be ticked without one."),
}
PARTS_LABEL = _("Parts used")
PARTS_HELP = _("References separated by commas, such as R8, R9.")

CHECK_LABELS = {
    "key": _("Short name"),
    "title": _("Title"),
    "measure": _("Measurement"),
    "red": _("Red probe on"),
    "black": _("Black probe on"),
    "note": _("Note for the builder"),
    "expected": _("Expected value"),
    "figure_from": _("Source of the figure"),
    "prototype": _("Reading of the prototype"),
    "band": _("Tolerance either side"),
    "low": _("Lower limit"),
    "high": _("Upper limit"),
    "at_least": _("At least"),
    "at_most": _("At most"),
    "stop_below": _("Switch off below"),
    "stop_above": _("Switch off above"),
    "mains_exponent": _("Mains exponent"),
    "source_resistance": _("Source resistance"),
    "read_with": _("Input resistance of the meter the figures were read with"),
    "through": _("Resistor the current goes through"),
    "picture": _("Picture"),
    "optional": _("Optional: the gate does not wait for this check"),
}
CHECK_HELP = {
    "key": KEY_HELP,
    "title": _("Such as “V2 pin 3, cathode”."),
    "red": _(
        "A socket pin (V2.3), a node of the circuit (ht.main), or your own words after an equals sign (=the tag of C1)."
    ),
    "black": _("As for red. Usually chassis."),
    "note": _("Such as “Wait a minute until the reading is steady.” Markdown."),
    "expected": _(
        "With its unit, as in 285 V, 4k7 or 45 mA. Or “model”, for the circuit’s figure. "
        "Voltages, their bands and stop limits are those without a meter connected, unless you "
        "say below which meter they were read with."
    ),
    "prototype": _("What your own prototype read here, for comparison."),
    "band": _("6% or 10 V."),
    "stop_below": _("Below this, the builder must switch off."),
    "stop_above": _("Above this, the builder must switch off. Blank: what the parts are rated for, where known."),
    "through": _("For a current: the resistor whose voltage is read, such as R10."),
    "source_resistance": _(
        "The resistance that feeds this point, such as 100k; it corrects for the meter’s loading. Blank: from "
        "the circuit. 0: nothing is corrected."
    ),
    "read_with": _(
        "Such as 10M. Expected value, band and stop limits are then what this meter shows, and they are corrected for "
        "its loading. Blank: they are calculated, without a meter connected."
    ),
    "mains_exponent": _(
        "1 for a reading proportional to the mains, like most voltages; 0 for one independent of "
        "it, like resistances; 1.5 for a triode’s current. Blank: from the circuit."
    ),
}
CHECK_GROUPS = (
    (_("Probe points"), "", ("red", "black", "through", "picture", "marker", "note")),
    (_("Expected value"), "", ("expected", "figure_from", "prototype")),
    (
        _("Band"),
        _("Give one of these: a tolerance, a lower and an upper limit, or one limit only."),
        ("band", "low", "high", "at_least", "at_most"),
    ),
    (_("Stop limits"), "", ("stop_below", "stop_above")),
    (_("Hints"), "", ("hints",)),
    (
        _("Judgement"),
        _("All of these may stay blank."),
        ("mains_exponent", "source_resistance", "read_with", "under", "optional"),
    ),
)
RARELY_NEEDED = tuple(legend for legend, _help, _names in CHECK_GROUPS[-2:])  # hints and judgement
SIGNAL_LABEL = _("Signal")
SIGNAL_HELP = _(
    "For AC volts under a test tone: the point it is fed into, such as in.tip, with its level and frequency, such as "
    "100 mV and 1 kHz. A load, such as 8.2R, is connected from its point to the chassis. For the ripple of the supply, "
    "choose it instead of a tone. With “model” as the expected value, the circuit works it out."
)
HINTS_LABEL = _("Hints for a reading out of band")
HINTS_HELP = _(
    "One hint per line, beginning with low:, high: or off: (either way). The builder sees it when a reading is out "
    "of band."
)
MEASURE_CHOICE = _("Choose a measurement")

PART_LABELS = {
    "ref": _("Reference"),
    "value": _("Value"),
    "tolerance": _("Tolerance"),
    "bag": _("Bag"),
    "quantity": _("Quantity"),
    "note": _("Note"),
}
PART_HELP = {
    "ref": _("As on the drawing, such as R10."),
    "value": _("Such as 180R, 4k7, 47u or 500 mA."),
    "tolerance": _("5% or -20/+50%."),
}
KIND_LABEL = _("Kind")

POINT_LABELS = {"node": _("Node of the circuit"), "words": _("Location in words"), "picture": _("Picture")}
POINT_HELP = {
    "node": _("The name used in joins, such as ht.main."),
    "words": _("Such as “the red tag of C1, nearest the fuse”."),
}

MARKER_LABEL = _("Position on the picture")
MARKER_HELP = _("Click on the picture, or give two fractions of its width and height, such as 0.4, 0.2.")
PICTURE_LABEL, NO_PICTURE = _("Picture"), _("none")
NO_PICTURES = _("This draft has no pictures yet. Add one at the foot of its page.")
UNKNOWN_PICTURE = _("This draft has no picture %(value)s. Add the picture first.")
FAULTS_LABEL = _("Known faults of this kit")
FAULTS_HELP = _(
    "Faults you have seen in this kit. A part becomes open, short, cold (a cold joint), leaky or another value. A "
    "valve becomes dead, weak, gassy, heater or “pin 7 dry”; a winding becomes “ht open”. Weights are usually "
    "between 0.3 and 3."
)

CHOICES = {
    "power": {"off": _("off"), "on": _("on")},
    "photo": {"none": _("not asked for"), "optional": _("optional"), "required": _("required")},
    "figure_from": {
        "designer": _("designer’s calculation"),
        "prototype": _("reading of the prototype"),
        "model": _("circuit model"),
    },
}


class Grouped:
    """A form whose fields belong to groups: (legend, help, names). A field in no group comes before them."""

    groups: tuple = ()
    folded: tuple = ()  # legends of the groups that are folded where they hold no value

    def sections(self) -> list[tuple]:
        """[(legend, help, [(bound field, example or "")], is it open?)], in the order in which they are filled in; a
        group that never folds is neither open nor closed, but None."""
        grouped = {name for _legend, _help, names in self.groups for name in names}
        rows = [("", "", [name for name in self.fields if name not in grouped]), *self.groups]
        return [
            (legend, help_text, [(self[name], EXAMPLES.get(name, "")) for name in names], self._is_open(legend, names))
            for legend, help_text, names in rows
        ]

    def _is_open(self, legend, names) -> bool | None:
        if legend not in self.folded:
            return None
        return any(self[name].errors or _says(self[name].value()) for name in names)


def _says(value) -> bool:
    """Is something filled in? A table of its own fields has a blank row for typing into."""
    if isinstance(value, list):
        return any(map(_says, value))
    return any(map(_says, value.values())) if isinstance(value, dict) else bool(value)
