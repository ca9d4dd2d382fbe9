"""The resistor that a current is read across, from the parts list."""

import pytest

from builds.bench.readings.context import build_context
from builds.guides.models import Check
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("value", "tolerance", "ohms", "share"),
    [("180", "1%", 180.0, 0.01), ("4k7", "", 4700.0, 0.05), ("1R5", "2 %", 1.5, 0.02), ("100", "-5/+10%", 100.0, 0.1)],
)
def test_its_ohms_and_its_tolerance_go_into_the_current_and_an_open_one_is_taken_as_five_per_cent(
    value, tolerance, ohms, share
):
    part = {"ref": "R10", "kind": "resistor", "value": value, "tolerance": tolerance}
    revision = factories.make_revision(stages=1, checks=1, issued=False, parts=(part,))
    Check.objects.filter(stage__revision=revision).update(
        measure="current", through="R10", expected="45 mA", band="20%", stop_above=""
    )
    build = factories.make_build(revision=revision)
    through = build_context(build, Check.objects.get(stage__revision=revision), None).through
    assert (through.ref, through.ohms) == ("R10", pytest.approx(ohms)) and through.tolerance == pytest.approx(share)


def test_a_check_across_nothing_has_none():
    build = factories.make_build(revision=factories.make_revision(stages=1, checks=1))
    assert build_context(build, Check.objects.get(stage__revision=build.revision), None).through is None
