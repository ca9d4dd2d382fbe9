"""A guide's volts count as without a meter's load. A designer who read them with a meter says so with a source
resistance of 0: the same reading then has the same verdict as on the designer's own bench."""

import pytest
from django.utils import timezone

from builds.accounts.models import Meter
from builds.bench.readings.context import judge_typed
from builds.guides.models import Check, Revision
from checks.meter import Accuracy, MeterSpec
from checks.outcomes import Outcome
from tests import factories

pytestmark = pytest.mark.django_db
TEN_MEGOHMS = MeterSpec("digital", Accuracy(0.5, 2), Accuracy(1, 3), Accuracy(1, 3), input_ohms=10e6)


def outcome(typed: str, source: str) -> Outcome:
    revision = factories.make_revision(stages=1, checks=1, steps=0, issued=False)
    figures = {"expected": "300 V", "band": "5%", "stop_above": "350 V", "source_resistance": source}
    Check.objects.filter(stage__revision=revision).update(**figures, mains_exponent=0.0)
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    builder = factories.make_builder()
    meter = Meter.objects.create(owner=builder, name="10 MΩ", spec=TEN_MEGOHMS.as_dict())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk), builder=builder, meter=meter)
    check = Check.objects.select_related("stage__revision").get(stage__revision=revision)
    return judge_typed(build, check, typed, 230.0).outcome


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
