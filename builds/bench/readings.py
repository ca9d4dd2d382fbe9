"""Taking a reading: judge it, keep it, and say where the build now stands. Readings are only ever added."""
from dataclasses import dataclass
from uuid import uuid4

from django.db import transaction
from django.utils import timezone

from builds.bench.models import Build, Concession, Reading, Standing
from builds.guides.figures import band_for, source_ohms
from builds.guides.models import Check
from checks.band import Band
from checks.mains import Line, line_for
from checks.meter import PRESETS, Measurement, MeterSpec, measure
from checks.quantity import Quantity, parse_quantity
from checks.verdict import Outcome, Verdict, judge


@dataclass(frozen=True)
class Judged:
    quantity: Quantity
    measurement: Measurement
    verdict: Verdict
    line: Line
    meter: MeterSpec


def line_of(build: Build, mains_volts: float | None) -> Line:
    """The builder's line voltage against the guide's, through the primary tap that suits their mains."""
    return line_for(float(build.revision.mains_volts), measured_volts=mains_volts,
                    nominal_volts=float(build.mains_volts), tap_volts=tap_of(build))


def tap_of(build: Build) -> float | None:
    from checks.mains import best_tap

    taps = [float(tap) for tap in build.revision.taps]
    return best_tap(float(build.mains_volts), taps) if taps else None


def band_here(build: Build, check: Check, mains_volts: float | None) -> Band | None:
    """The band a good build reads in at this builder's mains."""
    band = band_for(check)
    line = line_of(build, mains_volts)
    return band and band.scaled(line.factor, check.mains_exponent, line.spread)


def judge_typed(build: Build, check: Check, typed: str, mains_volts: float | None) -> Judged:
    """Judge what was typed. Raises ChecksError when it cannot be read or the check has no figure yet."""
    quantity = parse_quantity(typed, "V" if check.through else check.unit)
    spec = build.meter.as_spec() if build.meter else PRESETS["basic"][1]
    measured = measure(quantity, check.measure, spec, source_ohms=source_ohms(check), **_through(build, check))
    line = line_of(build, mains_volts)
    band = band_for(check) or Band(None, None)
    return Judged(quantity, measured, judge(measured, band, line=line, exponent=check.mains_exponent,
                                            unit=check.unit), line, spec)


def _through(build, check) -> dict:
    """The resistor a current is read across, if the check names one."""
    if not check.through:
        return {}
    from checks.quantity import parse_tolerance

    part = build.revision.parts.get(ref=check.through)
    tolerance = parse_tolerance(part.tolerance).plus if part.tolerance else 0.05
    return {"through_ohms": parse_quantity(part.value, "Ω").value, "through_tolerance": tolerance}


@transaction.atomic
def take_reading(build: Build, check: Check, typed: str, *, by, entry_key=None, at=None, mains_volts=None,
                 is_slip=False) -> Reading:
    """Judge and keep a reading; the same entry key gives back the reading it made the first time.

    Raises ChecksError when what was typed cannot be read.
    """
    Build.objects.select_for_update().get(pk=build.pk)  # two posts at once take their turns
    entry_key = entry_key or uuid4()
    already = Reading.objects.filter(entry_key=entry_key, build=build).first()
    if already:
        return already
    judged = judge_typed(build, check, typed, mains_volts)
    standing = Standing.objects.filter(build=build, check_row=check).select_related("latest").first()
    reading = _store(build, check, typed, judged, attempt=standing.attempts + 1 if standing else 1, by=by,
                     entry_key=entry_key, at=at or timezone.now(), mains_volts=mains_volts, is_slip=is_slip)
    _stand(build, check, reading, standing)
    return reading


def _store(build, check, typed, judged, **fields) -> Reading:
    verdict, measured = judged.verdict, judged.measurement
    factor = judged.line.factor ** check.mains_exponent
    return Reading.objects.create(
        build=build, check_row=check, typed=typed.strip()[:40], value=judged.quantity.value,
        over_range=judged.quantity.over_range, true_value=measured.value, u=verdict.u,
        at_reference=None if measured.value is None else measured.value / factor, low=verdict.band.low,
        high=verdict.band.high, expected=verdict.band.expected, outcome=verdict.outcome.value,
        probability=verdict.probability, deviation=verdict.deviation, words=verdict.words,
        meter_spec=judged.meter.as_dict(), **fields)


def _stand(build, check, reading, standing) -> Standing:
    """Bring the standing up to date. A slip's first outcome is replaced: it was never a reading of the kit."""
    if standing is None:
        return Standing.objects.create(build=build, check_row=check, first_outcome=reading.outcome,
                                       outcome=reading.outcome, deviation=reading.deviation, latest=reading,
                                       passed=passes(reading, conceded=_conceded(build, check)))
    if reading.is_slip and standing.attempts == 1:
        standing.first_outcome = reading.outcome
    confirmed = standing.latest.outcome in (Outcome.TOO_CLOSE.value, Outcome.IN_BAND.value) and not reading.is_slip
    standing.attempts, standing.latest = reading.attempt, reading
    standing.outcome, standing.deviation = reading.outcome, reading.deviation
    standing.passed = passes(reading, confirmed=confirmed, conceded=_conceded(build, check))
    standing.save()
    return standing


def _conceded(build, check) -> bool:
    return Concession.objects.filter(build=build, check_row=check).exists()


def passes(reading: Reading, *, confirmed: bool = False, conceded: bool = False) -> bool:
    """In band passes; too close to call passes once confirmed; a concession passes all but switch off."""
    if reading.outcome == Outcome.SWITCH_OFF.value:
        return False
    if reading.outcome == Outcome.IN_BAND.value or conceded:
        return True
    return reading.outcome == Outcome.TOO_CLOSE.value and confirmed
