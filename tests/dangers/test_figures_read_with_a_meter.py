"""A guide's volts count as without a meter's load, unless their designer says which meter read them: the same reading
then has the same verdict as on the designer's own bench, and another meter's is corrected to it."""

import pytest
from django.utils import timezone

from builds.accounts.models import Meter
from builds.guides.circuit.take_figure import as_numbers
from builds.guides.dangers import figures_without_meter
from builds.guides.figures import band_for, designers_band, expected_text, load_factor
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.guide_file.figure_rules import check_rules
from builds.guides.guide_file.write import write_guide
from builds.guides.models import Check, Revision, Stage
from checks.meter import Accuracy, MeterSpec
from checks.outcomes import Outcome
from tests import factories
from tests.shortcuts import judge_typed

pytestmark = pytest.mark.django_db
TEN_MEGOHMS = MeterSpec("digital", Accuracy(0.5, 2), Accuracy(1, 3), Accuracy(1, 3), input_ohms=10e6)


ONE_MEGOHM = MeterSpec("digital", Accuracy(0.5, 2), Accuracy(1, 3), Accuracy(1, 3), input_ohms=1e6)


def outcome(typed: str, source: str, read_with: str | None = None, meter: MeterSpec = TEN_MEGOHMS) -> Outcome:
    build, check = bench(source, read_with, meter)
    return judge_typed(build, check, typed, 230.0).outcome


def bench(source: str, read_with: str | None, meter: MeterSpec):
    revision = factories.make_revision(stages=1, checks=1, steps=0, issued=False)
    figures = {"expected": "300 V", "band": "5%", "stop_above": "350 V", "source_resistance": source}
    Check.objects.filter(stage__revision=revision).update(**figures, read_with=read_with, mains_exponent=0.0)
    Stage.objects.filter(revision=revision).update(power="on")
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    builder = factories.make_builder()
    meter = Meter.objects.create(owner=builder, name="Own", spec=meter.as_dict())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk), builder=builder, meter=meter)
    return build, Check.objects.select_related("stage__revision").get(stage__revision=revision)


@pytest.mark.parametrize(
    ("typed", "behind_1m", "as_read"),
    [
        ("273.0", Outcome.IN_BAND, Outcome.OUT_OF_BAND),  # 300.3 V without the meter (Ohm's law: 1 MΩ into 10 MΩ)
        ("300.0", Outcome.OUT_OF_BAND, Outcome.IN_BAND),  # 330 V without it
        ("330.0", Outcome.SWITCH_OFF, Outcome.OUT_OF_BAND),  # 363 V without it
    ],
)
def test_nothing_is_corrected_where_the_figures_were_read_with_such_a_meter(typed, behind_1m, as_read):
    assert outcome(typed, "1M") is behind_1m
    assert outcome(typed, "0") is as_read


@pytest.mark.parametrize("typed", ["273.0", "300.0", "330.0"])
def test_the_designers_own_meter_shows_what_the_designer_read(typed):
    """1 MΩ into 10 MΩ: 300 V as read are 330 V without the meter, and so is a builder's 300 V."""
    assert outcome(typed, "1M", "10M") is outcome(typed, "0")


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("275.5", Outcome.IN_BAND),  # 100 kΩ into 1 MΩ: 303 V without the meter, of which 10 MΩ shows 300
        ("330.0", Outcome.SWITCH_OFF),  # 363 V without it
        ("255.0", Outcome.OUT_OF_BAND),
    ],
)
def test_another_meter_is_corrected_to_what_the_designers_would_have_shown(typed, expected):
    assert outcome(typed, "100k", "10M", ONE_MEGOHM) is expected


def test_the_page_says_whose_meter_and_shows_figures_without_it():
    build, check = bench("1M", "10M", TEN_MEGOHMS)
    band = band_for(check)
    assert (band.low, band.high, band.stop_above) == pytest.approx((313.5, 346.5, 385.0))
    assert "10.0 MΩ" in expected_text(check) and expected_text(check) != expected_text(
        bench("1M", None, TEN_MEGOHMS)[1]
    )


def test_the_file_keeps_it_and_a_finding_is_proposed_in_the_designers_own_terms():
    row = {"measure": "dc volts", "expected": "300 V", "band": "5%", "source_resistance": "1M", "read_with": "10M"}
    assert list(check_rules(row)) == []
    draft = store_guide(read_guide(with_check(row)), factories.make_designer())
    check = Check.objects.get(stage__revision=draft, key="x")
    assert check.read_with == "10M" and b'read_with = "10M"' in write_guide(draft).encode()
    assert load_factor(check) == pytest.approx(1.1)


@pytest.mark.parametrize(
    "change",
    [
        {"measure": "resistance", "expected": "100k"},
        {"measure": "temperature", "expected": "40 °C", "band": "5 °C"},
        {"expected": "model"},
        {"read_with": "10 V"},
        {"read_with": "OL"},
        {"read_with": "0"},
        {"read_with": "1 Ω"},
        {"read_with": "-10M"},
    ],
)
def test_a_meter_that_loads_nothing_or_is_none_is_refused(change):
    row = {"measure": "dc volts", "red": "a", "expected": "300 V", "band": "5%", "read_with": "10M"} | change
    assert "read_with" in {key for key, _message in check_rules(row)}


def test_taking_the_circuits_figure_drops_the_meter_and_moves_the_stop_with_it():
    _build, check = bench("1M", "10M", TEN_MEGOHMS)
    check.model_figure = {"value": 331.0, "low": 315.0, "high": 347.0, "source_ohms": 1e6, "exponent": 1.0}
    check.save = lambda: None
    as_numbers(check)
    assert (check.read_with, check.stop_above) == (None, "385.0 V")
    assert designers_band(check).stop_above == 385.0


@pytest.mark.parametrize(("read_with", "codes"), [(None, ["meter-unsaid"]), ("10M", [])])
def test_a_figure_behind_much_resistance_asks_whether_a_meter_read_it(read_with, codes):
    _build, check = bench("1M", read_with, TEN_MEGOHMS)
    assert [code for code, _params, _row in figures_without_meter(load_guide(check.stage.revision))] == codes


def with_check(row: dict) -> bytes:
    lines = "\n".join(f'{name} = "{text}"' for name, text in row.items())
    head = '[kit]\nkey = "loaded"\nname = "Loaded"\nrevision = "A"\n'
    part = '[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "1M"\njoins = ["a", "chassis"]\n'
    stage = '[[stage]]\nkey = "s"\ntitle = "S"\npower = "on"\ncautions = ["one-hand"]\n'
    return f'format = 1\n{head}{part}{stage}[[stage.check]]\nkey = "x"\ntitle = "X"\nred = "a"\n{lines}\n'.encode()
