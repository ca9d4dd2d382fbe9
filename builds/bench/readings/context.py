"""What a reading of one check rests on, worked out once a request and passed down to view, forms and templates."""

from dataclasses import dataclass, replace
from functools import cached_property

from django.utils.translation import gettext as _

from builds.bench.readings.frequency import find_hertz
from builds.bench.readings.mains import line_at
from builds.bench.valves.as_fitted import as_fitted
from builds.guides.figures import find_exponent, source_ohms
from builds.guides.guide_cache import load_guide
from builds.guides.models import Check
from checks.band import Band
from checks.derived import Estimate
from checks.entry import (
    parse_reading,
    refuse_lone_one,
    refuse_missing_digits,
    refuse_more_than_shown,
    thousand_slip,
    unit_for,
    unit_slips,
)
from checks.errors import ChecksError
from checks.mains import Line
from checks.measures import Measure, find_measure
from checks.meter import PRESETS, Measurement, MeterSpec, measure
from checks.outcomes import OFF, Outcome
from checks.quantity import Quantity, format_quantity, parse_quantity, parse_tolerance
from checks.verdict import Verdict, judge_at_line

AC = "ac volts"
USUAL_TOLERANCE = 0.05  # of a resistor whose tolerance the parts list leaves open (common practice)


@dataclass(frozen=True)
class Through:
    """The resistor that a current is read across."""

    ref: str
    ohms: float
    tolerance: float


@dataclass(frozen=True)
class ReadingContext:
    """One check at one builder's bench. `band` holds at their mains, `guide_band` at the guide's; both are None where
    the guide has no figure. `quantity`, `measurement` and `verdict` are there once something was judged."""

    check: Check
    measure: Measure
    mains_volts: float | None
    line: Line
    exponent: float
    guide_band: Band | None
    band: Band | None
    meter: MeterSpec
    source_ohms: float | None
    through: Through | None
    quantity: Quantity | None = None
    measurement: Measurement | None = None
    verdict: Verdict | None = None
    share: float | None = 1.0  # this build's figure over the guide's, by its valves
    is_waiting: bool = False  # for the figures of its valves: only stops are judged
    hertz: float | None = None  # of the tone that AC volts are read under; None for the mains

    @property
    def unit(self) -> str:
        return self.measure.unit

    @cached_property
    def meter_band(self) -> Band | None:
        """The band in the unit that the meter shows: for a current, the volts across its resistor."""
        if self.band is None or self.through is None:
            return self.band
        return _times(self.band, self.through.ohms)

    @property
    def unit_beforehand(self) -> str:
        """The unit button that is pressed when the page opens."""
        band = self.meter_band
        return unit_for(band.low, band.high, self.measure.shows) if band else unit_for(None, None, self.measure.shows)

    def judged(self, typed: str) -> "ReadingContext":
        """With the verdict on what was typed. Raises ChecksError when it cannot be read, or in two ways."""
        return self.judged_quantity(parse_reading(typed, self.measure.shows, self.measure.code, self.meter_band))

    @cached_property
    def result(self) -> tuple[Quantity, Measurement, Verdict]:
        """What was judged. Raises ValueError before anything was."""
        if self.quantity is None or self.measurement is None or self.verdict is None:
            raise ValueError("Nothing has been judged yet.")
        return self.quantity, self.measurement, self.verdict

    def _known_band(self) -> Band:
        """Raises ChecksError where there is none: without limits everything would pass."""
        if self.band is None:
            raise ChecksError(
                _("This check has no figures to judge a reading by. Stop here and tell the designer."),
                code="no-band",
            )
        return self.band

    def judged_quantity(self, quantity: Quantity) -> "ReadingContext":
        measured, verdict = self.verdict_on(quantity)
        return replace(self, quantity=quantity, measurement=measured, verdict=verdict)

    def verdict_on(self, quantity: Quantity) -> tuple[Measurement, Verdict]:
        """Raises ChecksError where it cannot be judged."""
        band, through = self._known_band(), self.through
        measured = measure(
            quantity,
            self.measure.code,
            self.meter,
            source_ohms=self.source_ohms,
            through_ohms=through.ohms if through else None,
            through_tolerance=through.tolerance if through else None,
            hertz=self.hertz,
        )
        share = abs(self.exponent) * self.line.u
        verdict = judge_at_line(measured, band, unit=self.measure.unit, line_share=share)
        if verdict.outcome is not Outcome.SWITCH_OFF:
            if self.is_waiting:
                raise _waiting()
            refuse_missing_digits(measured, band)
            refuse_more_than_shown(quantity, self.meter_band, verdict.outcome)
            refuse_lone_one(quantity, self.meter, verdict.outcome)
        return measured, verdict

    def judged_known(self, known: Estimate, beyond: float = 0.0) -> "ReadingContext":
        """With the verdict on a figure that no meter showed; `beyond` is the ± that meters leave open at the
        frequencies of its readings. Raises ChecksError where the check has no band."""
        band = self._known_band()
        quantity = Quantity(known.value, self.unit)
        measured = Measurement(known.value, known.u, known.value, beyond=beyond)
        verdict = judge_at_line(measured, band, unit=self.unit)
        if self.is_waiting and verdict.outcome is not Outcome.SWITCH_OFF:
            raise _waiting()
        return replace(self, quantity=quantity, measurement=measured, verdict=verdict)

    @property
    def shown(self) -> str:
        """A figure as it is kept where nothing was typed: with a point in every language, as typed readings are. Pages
        write it by Reading.shown."""
        return format_quantity(self.result[0].number, self.unit, 4)

    def likely_typing_error(self) -> Quantity | None:
        """What was probably meant where no meter shows what was typed: worth asking before it is stored. Never of a
        stop; of a reading that is out, not where the band has one end only or spans zero; of one that would pass, only
        where what was meant would not."""
        (quantity, _measurement, verdict), band = self.result, self.band
        if verdict.outcome in (Outcome.IN_BAND, Outcome.TOO_CLOSE):
            if quantity.unit != "Ω":
                return None
            return next((meant for meant in unit_slips(quantity) if self.verdict_on(meant)[1].outcome in OFF), None)
        if verdict.outcome is not Outcome.OUT_OF_BAND or band is None or band.low is None or band.high is None:
            return None
        if band.low <= 0 <= band.high:
            return None
        return thousand_slip(quantity, lambda q: self.judged_quantity(q).result[2].outcome is Outcome.IN_BAND)

    @property
    def at_reference(self) -> float | None:
        """The judged value at the guide's mains, and with the guide's valves: what builds are compared by."""
        value = self.result[1].value
        return None if value is None else value / self.line.factor**self.exponent / (self.share or 1.0)


def _waiting() -> ChecksError:
    """While the figures are waited for nothing but a stop can be judged."""
    return ChecksError("The figures of the fitted valves are not there yet.", code="valve-figures")


def build_context(build, check: Check, mains_volts: float | None) -> ReadingContext:
    fitted = as_fitted(build, check)
    check, band = fitted.check, fitted.band
    line, exponent = line_at(build, check, mains_volts), find_exponent(check)
    return ReadingContext(
        check,
        find_measure(check.measure),
        mains_volts,
        line,
        exponent,
        band,
        band and band.scaled(line.factor, exponent, line.spread, line.fall),
        build.meter.as_spec() if build.meter else PRESETS["basic"],
        source_ohms(check),
        _through(build, check.through) if check.through else None,
        share=fitted.share,
        is_waiting=fitted.is_waiting,
        hertz=_hertz(build, check) if check.measure == AC else None,
    )


def _hertz(build, check: Check) -> float | None:
    return find_hertz(load_guide(build.revision).checks.get(check.key, check))


def _through(build, ref: str) -> Through:
    part = load_guide(build.revision).parts[ref]
    tolerance = parse_tolerance(part.tolerance).plus if part.tolerance else USUAL_TOLERANCE
    return Through(ref, parse_quantity(part.value, "Ω").number, tolerance)


def _times(band: Band, factor: float) -> Band:
    names = ("low", "high", "expected", "stop_below", "stop_above")
    return replace(band, **{name: getattr(band, name) and getattr(band, name) * factor for name in names})


def band_at_line(build, check: Check, mains_volts: float | None) -> Band | None:
    """The band a good build reads in at this builder's mains."""
    fitted, line = as_fitted(build, check), line_at(build, check, mains_volts)
    return fitted.band and fitted.band.scaled(line.factor, find_exponent(fitted.check), line.spread, line.fall)
