"""A figure worked out from a reading that counts no longer: it was another valve's, or judged by figures corrected
since, and must not stand as right."""

import pytest
from django.utils import timezone

from builds.bench.errata import reopen_corrected
from builds.bench.models import Erratum
from builds.bench.readings.taking import take_reading
from builds.bench.valves.replaced import let_pass_no_longer
from builds.guides.models import Check, Revision
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def build():
    """Output over input is a gain: 4 V over 0.4 V are 20 dB."""
    revision = factories.make_revision(gate=False, checks=0, steps=0, issued=False)
    common = {"stage": revision.stages.get(key="stage-2"), "mains_exponent": 0.0}
    read = {"measure": "ac volts", "red": "a"}
    Check.objects.create(position=1, key="out", title="out", low="2 V", high="12 V", **read, **common)
    Check.objects.create(position=2, key="in", title="in", low="0.1 V", high="1 V", **read, **common)
    gain = {"measure": "gain", "red": "", "at_least": "10 dB", "formula": {"of": ["out", "in"]}}
    Check.objects.create(position=3, key="gain", title="Gain", **gain, **common)
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    made = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    take(made, "out", "4.000")
    take(made, "in", "0.4000")
    return made


def check_of(build, key):
    return Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key=key)


def take(build, key, typed):
    return take_reading(build, check_of(build, key), typed, by=build.builder)


def passed(build, key="gain"):
    return build.statuses.get(check_row__key=key).passed


def test_a_figure_passes_no_longer_once_a_reading_it_rests_on_is_reopened(build):
    assert passed(build)
    let_pass_no_longer(build, [check_of(build, "out")])
    assert not passed(build) and not passed(build, "out")


def test_a_figure_passes_no_longer_once_a_check_it_rests_on_is_corrected(build):
    row = Erratum.objects.create(
        revision=build.revision,
        stage=build.revision.stages.get(key="stage-2"),
        check_row=check_of(build, "in"),
        words="Read at the other side of the control.",
    )
    reopen_corrected(row)
    assert not passed(build)


def test_no_figure_is_made_of_one_reading_that_counts_and_one_that_is_outdated(build):
    let_pass_no_longer(build, [check_of(build, "out")])
    take(build, "in", "0.4000")
    assert not passed(build) and passed(build, "in")
    take(build, "out", "4.000")
    assert passed(build)
