"""Taking a reading: judge it, keep it, and say where the build now stands. Readings are only ever added."""

from dataclasses import dataclass
from uuid import uuid4

from django.db import transaction
from django.utils import timezone

from builds.bench import notices
from builds.bench.gates.facts import Facts, Stand, facts_of
from builds.bench.models import Build, CheckStatus, Reading
from builds.bench.readings.mains import line_at
from builds.bench.readings.passing import is_confirmed, passes
from builds.guides.figures import band_for, exponent_of, source_ohms
from builds.guides.guide_cache import load_guide
from builds.guides.models import Check
from checks.band import Band
from checks.entry import parse_reading, refuse_missing_digits, thousand_slip, with_unit
from checks.mains import Line
from checks.meter import PRESETS, Measurement, MeterSpec, measure
from checks.quantity import Quantity, format_quantity, parse_quantity
from checks.verdict import Outcome, Verdict, judge


@dataclass(frozen=True)
class Judged:
    quantity: Quantity
    measurement: Measurement
    verdict: Verdict
    line: Line
    meter: MeterSpec


def band_here(build: Build, check: Check, mains_volts: float | None) -> Band | None:
    """The band a good build reads in at this builder's mains."""
    band = band_for(check)
    line = line_at(build, check, mains_volts)
    return band and band.scaled(line.factor, exponent_of(check), line.spread, line.fall)


def judge_typed(build: Build, check: Check, typed: str, mains_volts: float | None) -> Judged:
    """Judge what was typed. Raises ChecksError when it cannot be read or the check has no figure yet."""
    judged = judge_quantity(build, check, read_typed(check, typed), mains_volts)
    if judged.verdict.outcome is not Outcome.SWITCH_OFF:
        refuse_missing_digits(judged.measurement, judged.verdict.band)
    return judged


def read_typed(check: Check, typed: str) -> Quantity:
    """What the meter shows. Raises ChecksError when it cannot be read, or read in two ways."""
    return parse_reading(typed, "V" if check.through else check.unit, check.measure, band_for(check))


def judge_quantity(build: Build, check: Check, quantity: Quantity, mains_volts: float | None) -> Judged:
    """Judge what a meter shows, before anything is kept."""
    spec = build.meter.as_spec() if build.meter else PRESETS["basic"][1]
    measured = measure(quantity, check.measure, spec, source_ohms=source_ohms(check), **_through(build, check))
    line = line_at(build, check, mains_volts)
    band = band_for(check) or Band(None, None)
    return Judged(
        quantity, measured, judge(measured, band, line=line, exponent=exponent_of(check), unit=check.unit), line, spec
    )


def meant_instead(build: Build, check: Check, typed: str, mains_volts: float | None) -> Quantity | None:
    """What was probably meant where an entry is off by a thousand and no meter shows it: worth asking before it is
    judged. Never of a stop, nor where the band has one end only or spans zero. Raises ChecksError as `judge_typed`."""
    quantity, band = read_typed(check, typed), band_for(check)
    if band is None or band.low is None or band.high is None or band.low <= 0 <= band.high:
        return None

    def is_(outcome):
        return lambda shown: judge_quantity(build, check, shown, mains_volts).verdict.outcome is outcome

    return thousand_slip(quantity, is_(Outcome.OUT_OF_BAND), is_(Outcome.IN_BAND))


def ohms_across(build: Build, check: Check) -> float | None:
    """The resistor, in Ω, that a current is read across as volts; None where the check names none."""
    return _through(build, check).get("through_ohms")


def without_load(reading: Reading) -> str:
    """The sentence that tells a reading corrected for the meter's load from what was typed; empty where they read the
    same."""
    check = reading.check_row
    if check.through or reading.true_value is None:
        return ""
    typed, true = (format_quantity(value, check.unit) for value in (reading.value, reading.true_value))
    return "" if typed == true else f"{with_unit(reading.typed, check.unit)} typed; {true} without your meter's load."


def _through(build, check) -> dict:
    """The resistor a current is read across, if the check names one."""
    if not check.through:
        return {}
    from checks.quantity import parse_tolerance

    part = load_guide(build.revision).parts[check.through]
    tolerance = parse_tolerance(part.tolerance).plus if part.tolerance else 0.05
    return {"through_ohms": parse_quantity(part.value, "Ω").value, "through_tolerance": tolerance}


@transaction.atomic
def take_reading(
    build: Build, check: Check, typed: str, *, by, entry_key=None, at=None, mains_volts=None, is_slip=False
) -> Reading:
    """Judge and keep a reading; the same entry key gives back the reading it made the first time.

    Raises ChecksError when what was typed cannot be read.
    """
    Build.objects.select_for_update().get(pk=build.pk)  # two posts at once take their turns
    facts = facts_of(build, entry_key)
    if facts.reading:
        return Reading.objects.get(pk=facts.reading)
    return add_reading(
        build,
        check,
        typed,
        facts,
        by=by,
        entry_key=entry_key or uuid4(),
        at=at or timezone.now(),
        mains_volts=mains_volts,
        is_slip=is_slip,
    )[0]


def add_reading(
    build: Build, check: Check, typed: str, facts: Facts, *, mains_volts, **fields
) -> tuple[Reading, Facts]:
    """The next attempt, and the facts with it. For a caller that holds the build's lock and the facts fetched under it.

    Raises ChecksError when what was typed cannot be read.
    """
    judged = judge_typed(build, check, typed, mains_volts)
    before = facts.stands.get(check.pk)
    reading = _store(
        build, check, typed, judged, attempt=before.attempts + 1 if before else 1, mains_volts=mains_volts, **fields
    )
    passed = passes(reading, confirmed=is_confirmed(reading, before), conceded=check.pk in facts.conceded)
    _stand(reading, before, passed)
    if reading.outcome == Outcome.SWITCH_OFF.value:
        notices.stopped(reading)
    return reading, facts.with_stand(
        check.pk, Stand(reading.attempt, passed, reading.outcome, reading.at, reading.confirms)
    )


def _store(build, check, typed, judged, **fields) -> Reading:
    verdict, measured = judged.verdict, judged.measurement
    factor = judged.line.factor ** exponent_of(check)
    return Reading.objects.create(
        build=build,
        check_row=check,
        typed=typed.strip()[:40],
        value=judged.quantity.value,
        over_range=judged.quantity.over_range and not judged.quantity.is_below,
        below_range=judged.quantity.is_below,
        true_value=measured.value,
        u=verdict.u,
        at_reference=None if measured.value is None else measured.value / factor,
        low=verdict.band.low,
        high=verdict.band.high,
        expected=verdict.band.expected,
        outcome=verdict.outcome.value,
        probability=verdict.probability,
        deviation=verdict.deviation,
        confirms=verdict.confirms,
        words=verdict.words,
        meter_spec=judged.meter.as_dict(),
        **fields,
    )


def _stand(reading: Reading, before: Stand | None, passed: bool) -> None:
    """Bring the standing up to date. A slip's first outcome is replaced: it was never a reading of the kit."""
    news = {
        "attempts": reading.attempt,
        "latest": reading,
        "passed": passed,
        **{name: getattr(reading, name) for name in ("outcome", "deviation", "at_reference", "u")},
    }
    if before is None or (reading.is_slip and before.attempts == 1):
        news["first_outcome"] = reading.outcome
    if before is None:
        CheckStatus.objects.create(build_id=reading.build_id, check_row_id=reading.check_row_id, **news)
    else:
        CheckStatus.objects.filter(build=reading.build_id, check_row=reading.check_row_id).update(**news)
