"""The meter's self-check: which pieces the kit has for it, what was found, and whether readings stand on a meter out of
trim."""

from django.utils.translation import gettext as _

from builds.bench.models import Build, MeterCheck
from builds.bench.models.meter_checks import PIECE_FUNCTIONS
from builds.bench.readings.entry_keys import add_once, sent_before
from builds.guides.guide_cache import Guide
from builds.ui.errors import SiteError
from checks.entry import parse_reading, refuse_lone_one, thousand_slip
from checks.meter import MeterSpec
from checks.quantity import Tolerance, parse_quantity, parse_tolerance
from checks.selfcheck import KINDS, Piece, SelfCheck, Trim, self_check

USUAL = {"test resistor": 0.01, "test battery": 0.05}  # where the parts list states none (common practice)


def list_pieces(guide: Guide) -> list[tuple]:
    """[(part, Piece)] of the kit's test pieces, in the parts list's order."""
    return [(part, _piece(part)) for part in guide.parts.values() if part.kind in PIECE_FUNCTIONS]


def _piece(part) -> Piece:
    function = PIECE_FUNCTIONS[part.kind]
    usual = USUAL[part.kind]
    tolerance = parse_tolerance(part.tolerance) if part.tolerance else Tolerance(usual, usual)
    return Piece(function, parse_quantity(part.value, KINDS[function]).number, tolerance)


def latest_checks(build: Build) -> dict[int, MeterCheck]:
    """Part id -> the latest self-check of the meter this build is measured with."""
    rows = build.meter_checks.filter(meter=build.meter_id).select_related("part")
    return {row.part_id: row for row in rows.order_by("pk")}  # as they came in, whatever the clock showed


def flagged(build: Build) -> list[MeterCheck]:
    """The pieces on which this build's meter is out of trim now."""
    return [row for row in latest_checks(build).values() if row.trim == Trim.OUT_OF_TRIM]


def find_meter(build: Build) -> MeterSpec:
    """Raises SiteError where none is chosen: there is nothing to check."""
    if build.meter is None:
        raise SiteError(_("Choose your meter first, under “Mains and meter”."))
    return build.meter.as_spec()


def judge(typed: str, piece: Piece, meter: MeterSpec) -> SelfCheck:
    """Judge what a meter shows on a piece. Raises ChecksError for what cannot be read, or not be told apart."""
    shown = parse_reading(typed, KINDS[piece.function], piece.function)
    refuse_lone_one(shown, meter)
    return self_check(shown, piece, meter)


def likely_typing_error(piece: Piece, typed: str, meter: MeterSpec):
    """The Quantity that was probably meant where no meter shows what was typed; else None. Raises as `judge`."""
    if judge(typed, piece, meter).trim is not Trim.OUT_OF_TRIM:
        return None
    shown = parse_reading(typed, KINDS[piece.function], piece.function)
    return thousand_slip(shown, lambda meant: self_check(meant, piece, meter).trim is not Trim.OUT_OF_TRIM)


def take_self_check(build: Build, part, piece: Piece, typed: str, *, entry_key, by) -> MeterCheck:
    """Judge and keep one. The same entry sent twice gives back the one it made. Raises UsedKey, and ChecksError for
    what cannot be read."""
    entered = {"build": build, "part": part, "typed": typed.strip()[:40], "by": by}
    if already := sent_before(MeterCheck, entry_key, entered):
        return already
    judged = judge(typed, piece, find_meter(build))
    error = None if judged.error is None else judged.error / piece.value
    more = {"meter": build.meter, "error": error, "trim": judged.trim.value, "params": judged.params}
    return add_once(MeterCheck, entry_key, entered, **more)[0]
