"""A concession reaches a reading like the one it was given for, and none that is worse.

Deviations are kept within ±99 half-widths, so that a dead short and a leak, or an open circuit and a wrong resistor,
have the same one: what was read decides as well.
"""

import pytest
from django.utils import timezone

from builds.bench.gates.gating import concede
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check, Revision
from tests import factories

pytestmark = pytest.mark.django_db
INSULATION = {"measure": "isolation", "at_least": "20 MΩ"}
RESISTOR = {"measure": "resistance", "expected": "100 kΩ", "band": "10%"}
LEAK = {"measure": "dc volts", "at_most": "10 mV"}
SUPPLY = {"measure": "dc volts", "low": "285 V", "high": "335 V", "stop_above": "400 V", "mains_exponent": 0.0}
FIGURES = ("measure", "expected", "band", "low", "high", "at_least", "at_most", "stop_above")


def make_check(figures) -> tuple:
    revision = factories.make_revision(stages=1, checks=1, steps=0, issued=False)
    Check.objects.filter(stage__revision=revision).update(**dict.fromkeys(FIGURES, "") | {"red": "a"} | figures)
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    return build, Check.objects.select_related("stage__revision").get(stage__revision=revision)


def passes(figures, conceded: str, later: str) -> bool:
    build, check = make_check(figures)
    take_reading(build, check, conceded, by=build.builder)
    concede(build, check, by=None, reason="A bleeder lies across it in this one.")
    assert build.statuses.get().passed
    take_reading(build, check, later, by=build.builder)
    return build.statuses.get().passed


@pytest.mark.parametrize(
    ("figures", "conceded", "later"),
    [
        (INSULATION, "0.100 MΩ", "0.5 Ω"),
        (INSULATION, "0.100 MΩ", "12.0 kΩ"),
        (RESISTOR, "2.00 kΩ", "0.1 Ω"),
        (RESISTOR, "1.20 MΩ", "12.0 MΩ"),
        (RESISTOR, "1.20 MΩ", "OL"),
        (RESISTOR, "120.0 kΩ", "80.0 kΩ"),
        (LEAK, "1.200 V", "12.00 V"),
        (LEAK, "1.200 V", "-12.00 V"),
        (SUPPLY, "340.0 V", "395.0 V"),
        (SUPPLY, "0.5 V", "-0.500 V"),
        (SUPPLY, "280.0 V", "-OL"),
    ],
)
def test_a_worse_reading_does_not_pass_under_a_concession(figures, conceded, later):
    assert not passes(figures, conceded, later)


@pytest.mark.parametrize(
    ("figures", "conceded", "later"),
    [
        (INSULATION, "0.100 MΩ", "0.099 MΩ"),
        (INSULATION, "0.100 MΩ", "3.00 MΩ"),
        (RESISTOR, "1.20 MΩ", "1.21 MΩ"),
        (RESISTOR, "OL", "OL"),
        (LEAK, "1.200 V", "-1.190 V"),
        (SUPPLY, "340.0 V", "339.5 V"),
    ],
)
def test_a_second_look_at_what_was_conceded_passes(figures, conceded, later):
    assert passes(figures, conceded, later)
