"""The builder's mains against the guide's: the taps of the primary, the line a check is read at, what no tap serves."""

from builds.guides.feeding import variac_volts
from builds.guides.guide_cache import load_guide
from checks.circuit.netlist.regulation import is_primary_name
from checks.errors import ChecksError
from checks.mains import PLUG_IN_METER, Line, best_tap, line_for, tap_for
from checks.meter import standard_uncertainty
from checks.quantity import parse_quantity


def list_taps(revision) -> list[float]:
    """The taps of the mains transformer's primary; where none is named, the primary's own volts, else the guide's
    mains."""
    named = [float(tap) for tap in revision.taps]
    return named or _primary_volts(revision) or [float(revision.mains_volts)]


def _primary_volts(revision) -> list[float]:
    windings = [
        winding
        for part in load_guide(revision).parts.values()
        if part.kind == "mains transformer"
        for winding in part.detail.get("winding", ())
        if is_primary_name(str(winding.get("name", "")))
    ]
    texts = [winding.get("volts") for winding in windings if winding.get("volts")]
    if len(windings) != 1 or not texts:  # two primaries may be joined in series or in parallel
        return []
    try:
        volts = parse_quantity(str(texts[0]), "V").value
    except ChecksError:
        return []
    return [volts] if volts and volts > 0 else []


def refuse_unserved(revision, nominal_volts: int) -> None:
    """Raises ChecksError (code "no-tap") for mains that no tap of the kit's primary serves."""
    tap_for(float(nominal_volts), tuple(list_taps(revision)))


def is_rewired(build, nominal_volts: int) -> bool:
    """Would the primary of a build be wired for another tap at these mains?"""
    taps = tuple(list_taps(build.revision))
    return tap_for(float(build.mains_volts), taps) != tap_for(float(nominal_volts), taps)


def find_tap(build) -> float | None:
    """The tap this builder's primary is wired for; None where the guide names none."""
    taps = tuple(map(float, build.revision.taps))
    return best_tap(float(build.mains_volts), taps) if taps else None


def tap_share(build) -> float:
    """The tap in use over the guide's own: what a supply set by hand is multiplied by for the same windings' volts."""
    taps = tuple(map(float, build.revision.taps))
    if not taps:
        return 1.0
    return best_tap(float(build.mains_volts), taps) / best_tap(float(build.revision.mains_volts), taps)


def find_line(build, mains_volts: float | None) -> Line:
    """The builder's line voltage against the guide's, through the primary tap that suits their mains."""
    return line_for(
        float(build.revision.mains_volts),
        measured_volts=mains_volts,
        nominal_volts=float(build.mains_volts),
        tap_volts=find_tap(build),
    )


def line_at(build, check, mains_volts: float | None) -> Line:
    """The line a check is read at: a stage with volts of its own is set to them, so its readings do not go with the
    builder's mains.

    What is left is how well they were set (a meter at the outlet). Through a lamp readings do go with the mains, as the
    model's exponent of that stage has it.
    """
    if variac_volts(check.stage):
        return Line(1.0, standard_uncertainty(PLUG_IN_METER))
    return find_line(build, mains_volts)
