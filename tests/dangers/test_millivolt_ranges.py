"""A good reading that a meter shows in millivolts is never taken for volts: nobody is told to switch a good kit off,
and no unit is assumed where both are shown."""

import pytest
from django.utils import timezone

from builds.bench.readings.context import build_context
from builds.guides.models import Check, Revision
from tests import factories
from tests.dangers.driving import answer

pytestmark = pytest.mark.django_db
PARTS = ({"ref": "R1", "kind": "resistor", "value": "1R", "tolerance": "1%"},)
OVER_1_OHM = {"measure": "current", "through": "R1", "red": "k", "expected": "45 mA", "band": "10%"}
CHECKS = {
    "over 1 Ω": OVER_1_OHM | {"stop_above": "70 mA"},
    "cathode": {"measure": "dc volts", "expected": "1.5 V", "band": "20%", "stop_above": "4 V"},
    "heater chain": {"measure": "ac volts", "low": "1.1 V", "high": "1.4 V", "stop_above": "3 V"},
    "b+": {"measure": "dc volts", "expected": "300 V", "band": "10%", "stop_above": "400 V"},
}


@pytest.fixture
def bench():
    revision = factories.make_revision(stages=1, checks=0, steps=0, issued=False, parts=PARTS)
    stage = revision.stages.get()
    Check.objects.bulk_create(
        [
            Check(stage=stage, position=n, key=f"c{n}", title=title, **({"red": "a"} | figures))
            for n, (title, figures) in enumerate(CHECKS.items(), 1)
        ]
    )
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    return build, {check.title: check for check in Check.objects.select_related("stage__revision").filter(stage=stage)}


@pytest.mark.parametrize(
    ("title", "typed", "button", "outcome"),
    [
        ("over 1 Ω", "45.50", None, "ask_unit"),  # 45.5 mV is good, and 45.5 V over 1 Ω a stop
        ("over 1 Ω", "45.50", "mV", "pass"),
        ("over 1 Ω", "0.04550", "V", "pass"),
        ("over 1 Ω", "45.50", "V", "stop"),
        ("over 1 Ω", "60.0", None, "ask_unit"),
        ("over 1 Ω", "90", None, "stop"),  # 90 mA in millivolts too
        ("over 1 Ω", "90", "mV", "stop"),
        ("cathode", "1520", None, "ask_unit"),  # a range of 2000 mV
        ("cathode", "1520", "mV", "pass"),
        ("cathode", "1.520", "V", "pass"),
        ("cathode", "5000", None, "stop"),  # past it in either unit
        ("heater chain", "1250", None, "ask_unit"),
        ("b+", "300.0", None, "pass"),
    ],
)
def test_below_two_volts_the_unit_is_asked(bench, title, typed, button, outcome):
    build, checks = bench
    assert answer(build, checks[title], typed, button) == outcome


def test_no_unit_is_pressed_beforehand_where_a_meter_may_show_millivolts(bench):
    build, checks = bench
    assert {title: build_context(build, check, None).unit_beforehand for title, check in checks.items()} == {
        "over 1 Ω": "",
        "cathode": "",
        "heater chain": "",
        "b+": "V",
    }
