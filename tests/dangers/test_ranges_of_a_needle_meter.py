"""A needle meter loads a point by its range, and nobody types the range: a reading is right only if it is so on every
range that can show it. 20 kΩ/V, ranges 2.5, 10, 50, 250 and 1000 V.

By hand (Thévenin, V = shown · (1 + R/R_range)): 45 V behind 470 kΩ are 45 · (1 + 470/1000) = 66.15 V on the 50 V range,
45 · (1 + 470/5000) = 49.23 V on the 250 V range, and 45 · (1 + 470/20000) = 46.06 V on the 1000 V range.
"""

from types import SimpleNamespace

import pytest

from builds.accounts.models import Meter
from builds.bench.models import CheckStatus, Reading
from builds.bench.readings.judged_again import as_it_was_read, verdict_now
from builds.bench.readings.made_safe import is_safe
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check
from checks.band import Band
from checks.meter import PRESETS, measure
from checks.outcomes import Outcome, Reason
from checks.quantity import Quantity
from checks.verdict import judge
from tests import factories

NEEDLE = PRESETS["analogue"]
BAND = Band(50.0, 80.0, stop_above=120.0)


def verdict_on(volts: float, ohms: float | None, band: Band = BAND, meter=NEEDLE):
    return judge(measure(Quantity(volts, "V", 0.1), "dc volts", meter, source_ohms=ohms), band)


def test_a_reading_that_is_right_on_one_range_and_low_on_another_never_passes():
    doubted = verdict_on(45.0, 470e3)
    assert doubted.value == pytest.approx(66.15)
    assert (doubted.outcome, doubted.reason, doubted.limit) == (Outcome.TOO_CLOSE, Reason.CLOSE_BY_RANGE, 50.0)
    assert not doubted.confirms  # the second reading is made on the same range as the first


@pytest.mark.parametrize(
    ("volts", "ohms", "meter"),
    [
        (60.0, 470e3, NEEDLE),  # 65.6 V on 250 V, 61.4 V on 1000 V
        (65.0, None, NEEDLE),  # loads nothing that is known
        (45.0, 1e3, Band),
        (65.0, 47e3, PRESETS["handheld"]),
    ],
)
def test_a_reading_that_is_right_on_every_range_passes(volts, ohms, meter):
    band = Band(40.0, 80.0) if meter is Band else BAND
    meter = NEEDLE if meter is Band else meter
    assert verdict_on(volts, ohms, band, meter).outcome is Outcome.IN_BAND


def test_what_is_out_on_the_lowest_range_is_out_and_a_stop_is_a_stop():
    assert verdict_on(60.0, 2e6).outcome is Outcome.OUT_OF_BAND  # 84 V on the 250 V range
    assert verdict_on(49.0, 1.5e6).outcome is Outcome.SWITCH_OFF  # 122.5 V on the 50 V range
    assert verdict_on(20.0, 470e3).reason is Reason.LOW


@pytest.mark.django_db
def test_two_such_readings_leave_the_check_open_and_say_why():
    revision = factories.make_revision(stages=1, checks=0, steps=0, issued=False)
    check = Check.objects.create(
        stage=revision.stages.get(),
        position=1,
        key="screen",
        title="Screen",
        measure="dc volts",
        red="g2",
        low="50 V",
        high="80 V",
        source_resistance="470k",
    )
    builder = factories.make_builder()
    meter = Meter.objects.create(owner=builder, name="Needle", spec=NEEDLE.as_dict())
    build = factories.make_build(revision=revision, builder=builder, meter=meter)
    for _ in range(2):
        take_reading(build, check, "45.0 V", by=builder)
    assert not CheckStatus.objects.get(build=build, check_row=check).passed
    last = Reading.objects.filter(build=build).last()
    again = verdict_now(as_it_was_read(build, check, last), last)
    assert (again.outcome, again.reason, again.confirms) == (Outcome.TOO_CLOSE, Reason.CLOSE_BY_RANGE, False)
    assert (
        "lowest possible range" in last.explanation
        and "50.0" in last.explanation
        and "digital meter" in last.explanation
    )


@pytest.mark.parametrize(
    ("volts", "meter", "safe"),
    [
        (45.0, NEEDLE, False),  # 3 % of 1000 V: 15 V to 75 V
        (29.0, NEEDLE, True),  # at most 59 V
        (31.0, NEEDLE, False),
        (-45.0, NEEDLE, False),
        (0.0, NEEDLE, True),
        (45.0, PRESETS["handheld"], True),
        (59.0, PRESETS["handheld"], True),
    ],
)
def test_a_reservoir_is_safe_only_if_it_is_on_the_highest_range_too(volts, meter, safe):
    build = SimpleNamespace(meter=SimpleNamespace(as_spec=lambda: meter))
    assert is_safe(build, Quantity(volts, "V", 0.1)) is safe
