"""What must hold of a check that no meter reads: the formula or the recording that its figure is from."""

from django.utils.translation import gettext as _

from builds.ui.messages.errors import message_for
from builds.ui.messages.quantities import measure_label
from checks.errors import ChecksError
from checks.measures import MEASURES, Source, find_measure
from checks.tone.formulas import Formula, formula_from
from checks.tone.requests import FigureRequest, request_from

IN_VOLTS = tuple(
    code for code, measure in MEASURES.items() if measure.unit == "V" and Source.FORMULA not in measure.sources
)
METER_ONLY = ("through", "source_resistance", "read_with", "mains_exponent", "prototype")


def read_formula(check) -> Formula | None:
    """The formula of a check's row; None where it has none. Good rows raise nothing."""
    return formula_from(check.measure, check.formula) if check.formula else None


def read_request(check) -> FigureRequest | None:
    """What a check's row asks of a recording; None where it asks nothing."""
    return request_from(check.measure, check.recording) if check.recording else None


def source_rules(row: dict):
    """The figure of the amplifier must say where it is from, in one way, and a meter's reading must not."""
    measure = find_measure(row["measure"])
    tables = {key: row[key] for key in ("formula", "recording") if row.get(key)}
    if measure.is_read:
        for key in tables:
            yield key, _("A meter reading is neither calculated nor recorded. Leave this out.")
        return
    yield from _one_source(measure, tables)
    for key in METER_ONLY:
        if row.get(key):
            yield key, _("This is for readings of a meter. Leave it out.")
    readers = {"formula": formula_from, "recording": request_from}
    for key, table in tables.items():
        try:
            readers[key](row["measure"], table)
        except ChecksError as error:
            yield key, message_for(error)


def _one_source(measure, tables: dict):
    label = measure_label(measure.code)
    accepted = [source for source in (Source.FORMULA, Source.RECORDING) if source in measure.sources]
    if len(tables) > 1:
        yield "recording", _("Give a formula or a recording, not both.")
    if tables:
        return
    if accepted == [Source.FORMULA]:
        yield "formula", _("A %(measure)s is calculated from other checks: give its formula.") % {"measure": label}
    elif accepted == [Source.RECORDING]:
        yield "recording", _("This is measured in a recording: say which signal is played.")
    else:
        yield "recording", _("Give a formula or a recording for the %(measure)s.") % {"measure": label}


def formula_input_rules(stage: dict):
    """Every check that a formula names must stand in the same stage, be in volts, and come before it."""
    checks = [row for row in stage.get("check", []) if isinstance(row, dict)]
    order = stage.get("order") or []
    places = {row.get("key"): order.index(row["key"]) if row.get("key") in order else n for n, row in enumerate(checks)}
    volts = {row.get("key") for row in checks if row.get("measure") in IN_VOLTS}
    for row in checks:
        named = row["formula"].get("of") if isinstance(row.get("formula"), dict) else None
        for key in named if isinstance(named, list) else []:
            if key not in volts:
                message = _("“%(key)s” is not a check of this stage that is measured in volts.") % {"key": key}
            elif places[key] > places.get(row.get("key"), 0):
                message = _("“%(key)s” comes after this check, which needs its reading.") % {"key": key}
            else:
                continue
            yield row.get("key"), message
