"""A heater on the wrong volts: named when the guide comes in, held when it is issued, and said beside the reading that
the guide itself makes "right". 6.3 V and 12.6 V: any data sheet of an EL84 or ECC83; 10 % of rated volts is common
practice of valve makers."""

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.guides.circuit.stored import compute_figures
from builds.guides.models import Revision
from builds.guides.objections import Level, objections_to
from tests import factories
from tests.dangers import test_careless_guides as careless
from tests.dangers.test_careless_guides import imported

pytestmark = pytest.mark.django_db
HEATER = 'volts = "6.3 V"\namps = "2 A"'
ENDS = 'heater = ["h.a", "chassis"]'


@pytest.fixture
def designer(client):
    person = factories.make_designer()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return person


def held(revision) -> list[str]:
    """The circuit's own objections that hold a guide up, and the codes of the others."""
    compute_figures(revision, 100)
    objections = [o for o in objections_to(revision) if o.level is not Level.SHOWN]
    return [o.params["message"] if o.code == "circuit" else o.code for o in objections]


def heater_check(figures):
    return careless.more("ac volts", "h.a", "chassis", figures)


@pytest.mark.lengthy
@pytest.mark.parametrize(
    "change",
    [
        (HEATER, 'volts = "12.6 V"\namps = "2 A"'),
        (HEATER, 'volts = "5 V"\namps = "2 A"'),
        (ENDS, 'heater = ["chassis", "chassis"]'),
    ],
    ids=["twice its volts", "a rectifier's winding", "both ends on one wire"],
)
def test_a_heater_far_off_its_rating_holds_the_issue_up_and_is_named_at_import(client, designer, change):
    answer, revision = imported(client, change)
    assert any("V1" in text and "6.3" in text for text in held(revision))
    assert "6.3" in client.get(answer["Location"]).content.decode()


@pytest.mark.lengthy
def test_the_right_winding_holds_nothing_up(client, designer):
    _answer, revision = imported(client)
    assert held(revision) == []


@pytest.mark.lengthy
def test_a_heater_is_judged_at_full_mains_where_every_stage_is_fed_with_less(client, designer):
    text = careless.KIT.replace('power = "on"\n', 'power = "on"\nsupply = { volts = "115 V" }\n')
    text = text.replace(HEATER, 'volts = "12.6 V"\namps = "2 A"')
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(careless, "KIT", text)
        _answer, revision = imported(client)
    assert any("12." in phrase and "V1" in phrase for phrase in held(revision))


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("figures", "code"),
    [
        ('expected = "6.3 V"\nband = "10%"\nstop_above = "15 V"', "stop-past-rating"),
        ('expected = "12.6 V"\nband = "10%"\nstop_above = "15 V"', "band-past-rating"),
        ('expected = "12.6 V"\nband = "10%"', "band-past-rating"),
    ],
)
def test_a_stop_or_band_past_a_heater_is_not_issued_without_a_reason(client, designer, figures, code):
    _answer, revision = imported(client, heater_check(figures))
    assert code in held(revision)


@pytest.mark.parametrize("measure", ["ac volts", "dc volts"])
@pytest.mark.parametrize(("expected", "is_said"), [("12.6 V", True), ("6.3 V", False)])
def test_the_bench_names_the_rating_that_the_guides_own_figure_is_past(client, measure, expected, is_said):
    valve = {
        "ref": "V1",
        "kind": "pentode",
        "detail": {
            "type": "EL84",
            "base": "B9A",
            "pins": {"anode": "7", "screen": "9", "grid": "2", "cathode": "3", "heater": ["4", "5"]},
            "joins": {"anode": "a", "screen": "s", "grid": "g", "cathode": "k", "heater": ["h.a", "chassis"]},
        },
    }
    revision = factories.make_revision(stages=2, checks=1, steps=0, gate=False, issued=False, parts=(valve,))
    check = revision.stages.get(key="stage-2").checks.get()
    figures = {"expected": expected, "band": "10%", "low": "", "high": "", "stop_above": ""}
    for name, value in ({"measure": measure, "red": "h.a", "black": "chassis"} | figures).items():
        setattr(check, name, value)
    check.save()
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    acknowledge(open_sitting(build), revision.stages.get(key="stage-2"), 230.0)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("bench:check", args=[build.pk, "stage-2", check.key]))
    stops = [figure for figure in page.context["figures"] if figure.is_stop]
    assert all("V1" in " ".join(figure.notes) for figure in stops) and len(stops) in (1, 2)
    assert any(len(figure.notes) == 2 for figure in stops) is is_said
