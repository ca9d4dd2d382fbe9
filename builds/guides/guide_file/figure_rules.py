"""What must hold among the figures of one check, and of the quantities of any row."""

from django.utils.translation import gettext as _

from builds.guides.check_signals import signal_rules
from builds.guides.circuit.content import can_compute
from builds.guides.guide_file.figure_sources import source_rules
from builds.guides.guide_file.plain import are_shares
from builds.ui.messages.errors import message_for
from checks.band import OPEN_WORDS, parse_band
from checks.errors import ChecksError
from checks.measures import MODELLED, SIGNED, UNITS, VOLTS
from checks.quantity import parse_quantity

LIMITS = ("low", "high", "at_least", "at_most", "stop_above", "stop_below")
FIGURES = ("band", *LIMITS)
LEAST_INPUT = 10e3  # Ω: a needle of 1 kΩ/V on its 10 V range (common practice)
MOST_SOURCE = 10e6  # Ω: the input of a common digital meter (common practice)


def quantity_rules(units: dict, row: dict, *, zero: bool = False, signed: bool = False):
    """Each key that is given must be a quantity of its unit, above zero unless `zero` or `signed` allows more."""
    for key, unit in units.items():
        if row.get(key):
            yield from _quantity(key, row[key], unit, zero or signed, signed)


def _quantity(key: str, text: str, unit: str, zero: bool, signed: bool):
    try:
        value = parse_quantity(text, unit).value
    except ChecksError as error:
        yield key, message_for(error)
        return
    if value is None:
        yield key, _("A guide cannot give “over range” as a figure. Write a value, such as 2 MΩ.")
    elif value < 0 and not signed:
        yield key, _("“%(text)s” is below zero, which is not possible here.") % {"text": text}
    elif value == 0 and not zero:
        yield key, _("“%(text)s” must be above zero.") % {"text": text}


def check_rules(row: dict):
    """Figures that cannot be read, contradict each other, or that nothing could ever read."""
    problems = [*_each_figure(row)]
    yield from problems
    yield from _left_to_model(row)
    if not problems:
        yield from _band(row)
        yield from _stops_cross(row)
    yield from _through(row)
    yield from source_rules(row)
    yield from signal_rules(row)
    yield from marker_rules(row)


def marker_rules(row: dict):
    marker = row.get("marker")
    if marker and not (len(marker) == 2 and are_shares(marker)):
        yield "marker", _("A marker is two fractions of the picture's width and height, such as [0.4, 0.2].")


def place_rules(row: dict, pictures):
    """A point's marker, and its places on further pictures."""
    yield from marker_rules(row)
    seen = {row.get("picture")}
    for place in row.get("places") or []:
        if not (isinstance(place, list) and len(place) == 3 and isinstance(place[0], str) and are_shares(place[1:])):
            yield (
                "places",
                _('A position is a picture and two fractions of its size, such as ["layout.png", 0.4, 0.2].'),
            )
            return
        if place[0] not in pictures:
            yield "places", _("The picture %(name)s is not in the file.") % {"name": place[0]}
        elif place[0] in seen:
            yield "places", _("The point is placed on %(name)s twice.") % {"name": place[0]}
        seen.add(place[0])


def is_left_to_model(row: dict) -> bool:
    return str(row.get("expected") or "").strip().lower() == "model"


def _is_figure(text) -> bool:
    return str(text or "").strip().lower() not in ("", "model", *OPEN_WORDS)


def _each_figure(row: dict):
    """Each figure by itself in the check's unit, whatever the others say."""
    unit, signed = UNITS[row["measure"]], row["measure"] in SIGNED
    names = (*LIMITS, "prototype", *(("expected",) if _is_figure(row.get("expected")) else ()))
    yield from quantity_rules(dict.fromkeys(names, unit), row, zero=True, signed=signed)
    yield from _source(row)
    yield from _read_with(row)
    if row.get("band"):
        yield from _band_amount(str(row["band"]), unit)


def _source(row: dict):
    """Behind more than a meter's own input resistance, most of what is judged would be the correction."""
    problems = [*quantity_rules({"source_resistance": "Ω"}, row, zero=True)]
    yield from problems
    text = row.get("source_resistance")
    if text and not problems and parse_quantity(text, "Ω").number > MOST_SOURCE:
        yield (
            "source_resistance",
            _("“%(text)s” is more than a meter’s own resistance. A meter cannot read there: measure at another point.")
            % {"text": text},
        )


def _read_with(row: dict):
    """Only volts are loaded by a meter, and the circuit's figures are without one."""
    if not row.get("read_with"):
        return
    problems = [*quantity_rules({"read_with": "Ω"}, row)]
    yield from problems
    if row["measure"] not in VOLTS:
        yield "read_with", _("A meter’s input resistance matters for volts only. Leave this out.")
    elif is_left_to_model(row):
        yield "read_with", _("The circuit’s figure is without a meter. Leave this out, or type your own figure.")
    elif not problems and parse_quantity(row["read_with"], "Ω").number < LEAST_INPUT:
        yield (
            "read_with",
            _("“%(text)s” is not the input resistance of a voltmeter. Most digital meters have 10M.")
            % {"text": row["read_with"]},
        )


def _band_amount(text: str, unit: str):
    if text.replace("±", "").strip().startswith(("-", "−", "–")):
        yield (
            "band",
            _("“%(text)s” is below zero. Give the amount either side, such as 6%% or 10 V.") % {"text": text},
        )
        return
    try:
        band = parse_band(unit=unit, expected=f"1000 {unit}", band=text)
    except ChecksError as error:
        yield "band", message_for(error)
        return
    if band.low is None or band.high is None or not band.low < band.high:
        yield "band", _("A band of zero width lets no reading pass. Give an amount, such as 6%% or 10 V.") % {}


def _left_to_model(row: dict):
    if not is_left_to_model(row) or can_compute({"black": "chassis"} | row):
        return
    if row["measure"] in MODELLED:
        yield "expected", _("The circuit model cannot read at a point in words. Give a figure, such as 285 V.")
    else:
        yield (
            "expected",
            _("The circuit model does not compute a %(measure)s. Give a figure.") % {"measure": row["measure"]},
        )


def _band(row: dict):
    """The figures together. Left to the model, the middle is the model's, and the band may be too."""
    unit, model = UNITS[row["measure"]], is_left_to_model(row)
    figures = {key: row.get(key, "") for key in FIGURES}
    says_limits = any(figures[key] for key in ("low", "high", "at_least", "at_most"))
    if model and not says_limits:
        return
    try:
        band = parse_band(unit=unit, expected="" if model else row.get("expected", ""), **figures)
    except ChecksError as error:
        yield error.argument or "band", message_for(error)
        return
    if band.low is not None and band.low == band.high:
        yield "high", _("A band of zero width lets no reading pass: the upper limit must be above the lower one.")
    elif row["measure"] not in SIGNED and band.high is not None and band.high <= 0:
        yield (
            "high" if row.get("high") else "at_most",
            _("A limit of at most zero lets no reading pass: give a limit above zero."),
        )


def _stops_cross(row: dict):
    unit = UNITS[row["measure"]]
    above, below = (
        parse_quantity(row[key], unit).value if row.get(key) else None for key in ("stop_above", "stop_below")
    )
    if above is not None and below is not None and above <= below:
        yield "stop_above", _("The upper stop limit must be above the lower one.")


def _through(row: dict):
    if row["measure"] == "current" and not row.get("through"):
        yield "through", _("A current is read as volts across a known resistor: name that resistor here, such as R10.")
    if row["measure"] != "current" and row.get("through"):
        yield "through", _("Only a current goes through a resistor. Leave this blank, or measure a current.")
