"""Whether what a file says of builds agrees with itself: a reading past its stop limit is never taken over as passed,
and no build stands on another's readings."""

from django.apps import apps
from django.db.models import F, Q

from builds.bench.models import CheckStatus, Concession, Reading
from builds.guides.corrected import guide_with, list_history
from builds.guides.figures import band_for
from builds.guides.guide_cache import FIGURE_FIELDS
from builds.guides.models import FigureCorrection
from builds.operations.transfer.errors import TransferError
from builds.review.corrected_figures import broken_rules
from checks.outcomes import Outcome

# Columns to rows of a build, which must be the same build's: model -> (column, ...)
OWN = {"CheckStatus": ("latest", "stop"), "Photo": ("snag",), "Carried": ("reading",)}
PASSING = (Outcome.IN_BAND.value, Outcome.TOO_CLOSE.value)
MOST_TEXT = 30  # characters of a figure, as its field takes them
SLACK = 1e-6  # of a limit, that another installation's arithmetic may differ by


def refuse_strange_standings(kit) -> None:
    """Raise TransferError for a row that borrows from another build, or a check that stands on what was not read."""
    for name, columns in OWN.items():
        rows = apps.get_model("bench", name)._base_manager.filter(build__revision__kit=kit)
        for column in columns:
            if rows.filter(**{f"{column}__isnull": False}).exclude(**{f"{column}__build": F("build")}).exists():
                raise TransferError(f"A row of {name} refers to a {column} of another build.")
    _refuse_strange_corrections(kit)
    _refuse_borrowed_readings(kit)
    _refuse_strange_statuses(kit)
    _refuse_passed_stops(kit)


def _refuse_strange_corrections(kit) -> None:
    """Readings are judged by an erratum's figures: they keep the rules of a guide's own, and none is passed over."""
    rows = FigureCorrection.objects.filter(check_row__stage__revision__kit=kit)
    for row in rows.select_related("check_row__stage__revision"):
        figures, check = row.figures, row.check_row
        known = isinstance(figures, dict) and set(figures) == set(FIGURE_FIELDS)
        if not known or not all(isinstance(text, str) and len(text) <= MOST_TEXT for text in figures.values()):
            raise TransferError(f"The corrected figures of {check.key} do not belong to a check.")
        if check.stage.revision.corrected_at is None or broken_rules(check, figures):
            raise TransferError(f"The corrected figures of {check.key} cannot be used to judge a reading.")


def _refuse_borrowed_readings(kit) -> None:
    sheets = apps.get_model("bench", "Sheet").objects.filter(build__revision__kit=kit)
    if sheets.filter(readings__isnull=False).exclude(readings__build=F("build")).exists():
        raise TransferError("A worksheet refers to a reading of another build.")


def _refuse_strange_statuses(kit) -> None:
    statuses = CheckStatus.objects.filter(build__revision__kit=kit)
    strange = ~Q(latest__check_row=F("check_row")) | ~Q(latest__outcome=F("outcome"))
    if statuses.filter(strange).exists():
        raise TransferError("The status of a check does not match the reading that it refers to.")
    conceded = set(Concession.objects.filter(build__revision__kit=kit).values_list("build_id", "check_row_id"))
    for build, check in statuses.filter(passed=True).exclude(outcome__in=PASSING).values_list(*("build", "check_row")):
        if (build, check) not in conceded:
            raise TransferError("A check is marked as passed without a good reading or a concession.")
    last_stop = Reading.objects.filter(build__revision__kit=kit, outcome=Outcome.SWITCH_OFF.value)
    standing = set(statuses.filter(stop__isnull=False).values_list("build", "check_row"))
    for build, check, attempt in last_stop.values_list("build", "check_row", "attempt"):
        later = Reading.objects.filter(build=build, check_row=check, attempt__gt=attempt)
        if (build, check) not in standing and not later.filter(outcome=Outcome.IN_BAND.value).exists():
            raise TransferError("A stop has been cleared, although no good reading was taken after it.")


def _refuse_passed_stops(kit) -> None:
    """The limits of the guide as it is in the file."""
    rows = Reading.objects.filter(build__revision__kit=kit).exclude(outcome=Outcome.SWITCH_OFF.value)
    for reading in rows.select_related("check_row__stage__revision").iterator():
        value = reading.true_value
        if value is None:
            continue
        if _is_past_every_stop(reading, value):
            raise TransferError(
                f"A reading of {reading.check_row.key}, {reading.typed}, is past its stop limit but not marked so."
            )
        if reading.outcome == Outcome.IN_BAND.value and not (_is_inside(value, reading) or _is_inside(-value, reading)):
            raise TransferError(f"A reading of {reading.check_row.key}, {reading.typed}, is out of its band.")


def _is_past_every_stop(reading: Reading, value: float) -> bool:
    """By the figures of then, and by each that an erratum gave the check since: which of them it was judged by when it
    arrived is not in the file."""
    check = reading.check_row
    if check.stage.revision.corrected_at is None:
        bands = [band_for(check)]
    else:
        held = [row for row in list_history(check) if row.until is None or row.until >= reading.at]
        bands = [band_for(guide_with(check.stage.revision, check, row.figures)[1]) for row in held]
    return all(band is not None and band.stops(value) for band in bands)


def _is_inside(value: float, reading: Reading) -> bool:
    """Of some readings the size alone counts, so that either sign is tried."""
    low, high = reading.low, reading.high
    return (low is None or value >= low - SLACK * abs(low)) and (high is None or value <= high + SLACK * abs(high))
