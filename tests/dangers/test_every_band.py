"""Whatever band, meter and reading: no pass of a value that lies beyond the limit as typed and corrected, and no stop
limit passed in silence. Posted as a browser posts it, twice, and compared in exact fractions written here."""

import os
from decimal import Decimal
from fractions import Fraction
from uuid import uuid4

import pytest
from django.db import transaction
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from builds.accounts.models import Meter
from builds.bench.models import CheckStatus, Reading
from builds.guides.models import Check
from checks.meter import Accuracy, MeterSpec
from tests import factories

EXAMPLES = int(os.environ.get("BAND_EXAMPLES", "40"))  # more of them by hand
pytestmark = pytest.mark.django_db
STATED_GUARD = Fraction(2, 10**9)  # of a limit: what binary fractions make of decimals (checks/band.py), and its edge
UNITS = {"dc volts": {"V": 1, "mV": Fraction(1, 1000)}, "ac volts": {"V": 1, "mV": Fraction(1, 1000)}}
UNITS["resistance"] = {"Ω": 1, "kΩ": 1000, "MΩ": 10**6}
SHARES = ("0.5", "0.9", "0.98", "0.999", "0.9999", "1", "1.0001", "1.001", "1.02", "1.1", "2", "-1", "0")
BUTTON = {"dc volts": "V", "ac volts": "V", "resistance": "Ω"}


def plain(number: Fraction, digits: int) -> str:
    """With so many significant digits, and no exponent."""
    exact = Decimal(number.numerator) / Decimal(number.denominator)
    return f"{Decimal(f'{exact:.{digits - 1}e}'):f}"


@st.composite
def bands(draw, measure: str) -> dict[str, Fraction]:
    """Limits by name: two-sided (above, below and about zero) and one-sided, with stop limits outside."""
    small = st.integers(1, 9999)
    power = draw(st.sampled_from((-2, -1, 0, 1, 3) if measure == "resistance" else (-4, -3, -2, -1)))
    low, width = (Fraction(draw(small)) * Fraction(10) ** power for _ in range(2))
    shape = draw(st.sampled_from(("two", "two", "below zero", "about zero", "at_least", "at_most")))
    if measure != "dc volts" and "zero" in shape:
        shape = "two"
    if shape in ("at_least", "at_most"):
        limits = {shape: low}
    elif shape == "two":
        limits = {"low": low, "high": low + width}
    else:
        limits = {"low": -low - width, "high": -low} if shape == "below zero" else {"low": -low, "high": width}
    if measure != "resistance" and draw(st.booleans()):
        limits["stop_above"] = max(limits.values()) + width * draw(st.sampled_from((Fraction(1, 100), 1)))
    if measure == "dc volts" and shape != "at_most" and draw(st.booleans()):
        limits["stop_below"] = min(limits.values()) - width * draw(st.sampled_from((Fraction(1, 100), 1)))
    return limits


@st.composite
def meters(draw) -> MeterSpec:
    accuracy = Accuracy(draw(st.sampled_from((0.0, 0.1, 0.5, 1.5, 5.0))), draw(st.sampled_from((0, 2, 10, 30))))
    if draw(st.booleans()):
        return MeterSpec("digital", accuracy, accuracy, accuracy, input_ohms=draw(st.sampled_from((1e5, 1e6, 1.1e7))))
    full = Accuracy(draw(st.sampled_from((1.5, 3.0))), 0, True)
    return MeterSpec("analogue", full, full, accuracy, ohms_per_volt=2e4, ranges=(2.5, 10.0, 50.0, 250.0, 1000.0))


@st.composite
def benches(draw):
    """(what is measured, limits, meter, ohms of the source, what is typed and what it says)."""
    measure = draw(st.sampled_from(sorted(UNITS)))
    limits, meter = draw(bands(measure)), draw(meters())
    source = draw(st.sampled_from((0, 0, 1000, 100_000, 1_000_000))) if measure != "resistance" else 0
    wanted = draw(st.sampled_from(sorted(limits.values()))) * Fraction(draw(st.sampled_from(SHARES)))
    unit = draw(st.sampled_from(sorted(UNITS[measure])))
    shown = wanted / (1 + Fraction(source) / ohms_of(meter, wanted)) / UNITS[measure][unit]
    number = plain(shown, draw(st.integers(1, 6)))
    return measure, limits, meter, source, f"{number} {unit}", Fraction(Decimal(number)) * UNITS[measure][unit]


def ohms_of(meter: MeterSpec, volts: Fraction) -> Fraction:
    """The smallest range that holds the reading loads the point; a digital meter always loads it alike."""
    if meter.input_ohms is not None:
        return Fraction(meter.input_ohms)
    fitting = [r for r in meter.ranges if r >= abs(volts)] or [meter.ranges[-1]]
    return Fraction(meter.ohms_per_volt or 0) * Fraction(fitting[0])


def is_beyond(value: Fraction, limits: dict[str, Fraction]) -> bool:
    low, high = limits.get("low", limits.get("at_least")), limits.get("high", limits.get("at_most"))
    size = abs(value) if low is None else value
    is_low = low is not None and size < low - STATED_GUARD * abs(low)
    return is_low or (high is not None and size > high + STATED_GUARD * abs(high))


def is_past_stop(value: Fraction, limits: dict[str, Fraction]) -> bool:
    above, below = limits.get("stop_above"), limits.get("stop_below")
    is_above = above is not None and value > above + STATED_GUARD * abs(above)
    return is_above or (below is not None and value < below - STATED_GUARD * abs(below))


@pytest.fixture
def bench(client):
    revision = factories.make_revision(stages=1, checks=1, steps=0, issued=False)
    builder = factories.make_builder()
    build = factories.make_build(
        revision=revision, builder=builder, meter=Meter.objects.create(owner=builder, name="Bench", spec={})
    )
    client.force_login(builder)
    return client, build, factories.checks_of(revision=revision)[0]


def post_twice(bench, measure, limits, meter, source, typed) -> tuple[bool, list[str]]:
    """(does the check pass then, the outcomes on record)."""
    client, build, check = bench
    Meter.objects.filter(pk=build.meter_id).update(spec=meter.as_dict())
    figures = dict.fromkeys(("expected", "band", "low", "high", "at_least", "at_most"), "")
    figures |= {"stop_above": "", "stop_below": "", "source_resistance": str(source) if source else ""}
    figures |= {name: f"{plain(value, 12)} {BUTTON[measure]}" for name, value in limits.items()}
    Check.objects.filter(pk=check.pk).update(measure=measure, **figures)
    address = reverse("bench:reading", args=[build.pk, check.stage.key, check.key])
    for _ in range(2):
        answer = client.post(address, {"typed": typed, "entry_key": str(uuid4())})
        assert answer.status_code in (302, 422), answer.status_code
    passed = CheckStatus.objects.filter(build=build, check_row=check, passed=True).exists()
    return passed, [*Reading.objects.filter(build=build).values_list("outcome", flat=True)]


class Counts(dict):
    def note(self, passed: bool, outcomes: list[str]) -> None:
        what = "passed" if passed else "stopped" if "switch off" in outcomes else "kept" if outcomes else "asked"
        self[what] = self.get(what, 0) + 1


@pytest.mark.lengthy
def test_no_value_beyond_its_limit_passes_and_no_stop_limit_is_passed_in_silence(bench):
    counts = Counts()

    @given(benches())
    @settings(max_examples=EXAMPLES, derandomize=EXAMPLES < 100, suppress_health_check=list(HealthCheck))
    def holds(drawing):
        measure, limits, meter, source, typed, shown = drawing
        corrected = shown * (1 + Fraction(source) / ohms_of(meter, shown)) if source else shown
        with transaction.atomic():
            passed, outcomes = post_twice(bench, measure, limits, meter, source, typed)
            transaction.set_rollback(True)
        counts.note(passed, outcomes)
        if passed:
            assert not is_beyond(corrected, limits), f"{float(corrected)} passed"
        is_real = measure == "dc volts" or shown >= 0
        if is_real and (is_past_stop(shown, limits) or is_past_stop(corrected, limits)):
            assert outcomes[:1] == ["switch off"], outcomes

    holds()
    assert min(counts.get(name, 0) for name in ("passed", "stopped", "kept")) >= 2, counts
