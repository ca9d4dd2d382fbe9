"""A stage that is fed at volts of its own, or through a lamp: what the builder sets, and how the band follows the
mains."""

import pytest
from django.urls import reverse

from builds.bench.readings.context import band_at_line
from builds.bench.readings.taking import take_reading
from builds.guides import revisions
from builds.guides.feeding import setting_sentences
from builds.guides.models import Check, Stage
from tests import factories

pytestmark = pytest.mark.django_db


def fed(supply, *, nominal=230, exponent=1.0):
    revision = factories.make_revision(issued=False, gate=False)
    Stage.objects.filter(revision=revision, key="stage-2").update(supply=supply, cautions=["lethal-voltage"])
    Check.objects.filter(stage__revision=revision).update(mains_exponent=exponent)
    build = factories.make_build(revision=revisions.issue(revision), mains_volts=nominal)
    check = (
        Check.objects.select_related("stage__revision")
        .filter(stage__revision=build.revision, stage__key="stage-2")
        .first()
    )
    return build, check


def test_volts_set_by_hand_do_not_go_with_the_builders_mains():
    build, check = fed({"volts": "115 V"})
    assert band_at_line(build, check, 245.0) == band_at_line(build, check, 220.0) == band_at_line(build, check, None)
    reading = take_reading(build, check, "300", by=build.builder, mains_volts=245.0)
    assert (reading.low, reading.expected, reading.high) == (270, 300, 330)
    assert reading.at_reference == pytest.approx(reading.true_value)


def test_a_kit_wired_for_another_tap_is_judged_by_that_taps_volts():
    """Windings give their rated volts where the line equals the tap in use (a transformer's ratio): 115 V on the 115 V
    primary are what 230 V are on the other."""
    build, check = fed({}, nominal=115)
    reading = take_reading(build, check, "300", by=build.builder, mains_volts=115.0)
    assert (reading.low, reading.expected, reading.high) == pytest.approx((270, 300, 330))
    assert reading.at_reference == pytest.approx(reading.true_value)


@pytest.mark.lengthy
def test_how_well_they_were_set_counts_as_a_plug_in_meters_reading():
    """A rectangle of ±1 % has a standard uncertainty of 1 %/√3 (JCGM 100:2008, 4.3.7)."""
    build, check = fed({"volts": "115 V"})
    with_line = take_reading(build, check, "300", by=build.builder, mains_volts=None).u
    without = take_reading(*fed({"volts": "115 V"}, exponent=0.0), "300", by=build.builder, mains_volts=None).u
    assert with_line**2 - without**2 == pytest.approx((300 * 0.01 / 3**0.5) ** 2, rel=1e-6)


@pytest.mark.parametrize("supply", [{}, {"lamp": "60 W"}])
def test_the_line_as_it_is_and_the_line_through_a_lamp_move_the_band(supply):
    build, check = fed(supply)
    assert band_at_line(build, check, 241.5).expected == pytest.approx(300 * 1.05)


def test_on_another_tap_the_same_share_of_it_is_set():
    """Windings give the same volts at line/tap: 115 V of 230 V are 57.5 V on a 115 V tap."""
    build, check = fed({"volts": "115 V"}, nominal=120)
    assert "set to 57.5 V" in setting_sentences(check.stage, 115 / 230)[0]
    assert band_at_line(build, check, 121.0).expected == 300


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("supply", "text"), [({"volts": "115 V"}, "variable transformer set to 115 V"), ({"lamp": "60 W"}, "lamp of 60 W")]
)
def test_the_stage_and_its_checks_say_what_to_set(client, supply, text):
    build, check = fed(supply)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    assert text in client.get(reverse("bench:cautions", args=[build.pk, "stage-2"])).content.decode()
    client.post(reverse("bench:cautions", args=[build.pk, "stage-2"]), {"read": "on", "mains": "230"})
    for page in (
        reverse("bench:stage", args=[build.pk, "stage-2"]),
        reverse("bench:check", args=[build.pk, "stage-2", check.key]),
    ):
        assert text in client.get(page).content.decode()


def test_a_stage_without_power_sets_nothing():
    assert setting_sentences(Stage(power="off", supply={"volts": "115 V"})) == []
    assert setting_sentences(Stage(power="on")) == []
