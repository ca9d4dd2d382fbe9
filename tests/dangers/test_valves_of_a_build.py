"""Figures that follow a build's valves: no reading passes by the figures of a valve that is not in the socket."""

import functools
from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Build, FittedValve, ValveTest
from builds.bench.offline.judging import rules_for
from builds.bench.readings.context import band_at_line, build_context
from builds.bench.readings.taking import take_reading
from builds.bench.valves import fitting, own_valves
from builds.bench.valves.as_fitted import load_guide_as_fitted
from builds.bench.valves.followed import list_followed
from builds.guides.circuit import stored
from builds.guides.circuit.compute import compute
from builds.guides.figures import band_for
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import GuideErrors, read_guide, store_guide, write_guide
from builds.guides.models import CircuitFigures
from builds.guides.revisions import issue
from builds.reports.worksheet.gather import worksheet
from checks.errors import ChecksError
from checks.outcomes import Outcome
from tests import factories

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
GUIDE = """format = 1
[kit]
key = "stage"
name = "A stage"
revision = "A"
[[part]]
ref = "B1"
kind = "dc supply"
value = "250 V"
tolerance = "2%"
joins = { plus = "ht", minus = "chassis" }
[[part]]
ref = "RA"
kind = "resistor"
value = "10k"
tolerance = "1%"
joins = ["ht", "anode"]
[[part]]
ref = "RK"
kind = "resistor"
value = "680R"
tolerance = "1%"
joins = ["cathode", "chassis"]
[[part]]
ref = "RG"
kind = "resistor"
value = "1M"
joins = ["grid", "chassis"]
[[part]]
ref = "V1"
kind = "twin triode"
type = "ECC82"
base = "B9A"
pins.a = { anode = "6", grid = "7", cathode = "8" }
pins.b = { anode = "1", grid = "2", cathode = "3" }
joins.a = { anode = "anode", grid = "grid", cathode = "cathode" }
joins.b = { anode = "anode", grid = "grid", cathode = "cathode" }
limits = { anode_watts = 2.75, anode_volts = 300 }
alternatives = ["12AU7", "ECC81"]
[[stage]]
key = "valve"
title = "The valve in"
power = "on"
cautions = ["lethal-voltage"]
[[stage.check]]
key = "cathode"
title = "Cathode"
measure = "dc volts"
red = "cathode"
expected = "model"
stop_above = "40 V"
[[stage.check]]
key = "typed"
title = "Anode, typed"
measure = "dc volts"
red = "anode"
expected = "160 V"
band = "10%"
stop_above = "400 V"
"""
# The published points: ECC82 250 V, -8.5 V, 10.5 mA, 2.2 mA/V (handbook figures, from memory).
POINT = {"anode_volts": 250, "grid_volts": -8.5, "transconductance": 2.2e-3}


@pytest.fixture
def build(monkeypatch):
    monkeypatch.setattr(stored, "compute", functools.partial(compute, samples=300))
    draft = store_guide(_read(GUIDE), factories.make_designer())
    stored.compute_figures(draft, 300)
    return factories.make_build(revision=issue(draft))


def _read(text):
    return read_guide(text.encode())


def check_of(build, key):
    return load_guide(build.revision).checks[key]


def measured(build, share, **fields):
    """Both sections measured at `share` of the published current."""
    for section in "ab":
        figures = POINT | {"anode_amps": share * 10.5e-3, "transconductance": POINT["transconductance"] * share**0.3}
        ValveTest.objects.create(
            build=build,
            ref="V1",
            section=section,
            **({"type": "ECC82", "code": "31", "make": "Kestrel"} | figures | fields),
        )
    return settled(build)


def settled(build):
    own_valves.settle_valves(build)
    if build.own_valves and not build.valve_figures_id:
        own_valves.make_valve_figures(lambda *a: None, build.pk)
    return Build.objects.select_related("revision__kit", "builder", "meter").get(pk=build.pk)


def fitted(build, type_="", why="first", make="Kestrel", code="31"):
    fitting.note_fitted(build, "V1", make, code, why, entry_key=uuid4(), by=build.builder, type_=type_)
    return settled(build)


def outcome(build, key, typed):
    return build_context(build, check_of(build, key), None).judged(typed).verdict.outcome


@pytest.mark.lengthy
def test_a_guides_own_valve_changes_nothing(build):
    before = band_at_line(build, check_of(build, "cathode"), None)
    for type_ in ("", "12AU7"):  # another name of the same valve
        build = fitted(build, type_, why="first" if not type_ else "slip")
        assert build.own_valves == {} and band_at_line(build, check_of(build, "cathode"), None) == before


@pytest.mark.lengthy
def test_a_reading_is_judged_by_the_figures_of_the_type_fitted(build):
    guides = band_for(check_of(build, "cathode"))
    build = fitted(build, "ECC81")
    own = build_context(build, check_of(build, "cathode"), None).guide_band
    assert own.high < guides.low  # an ECC81 at this cathode resistor carries less (its curve, 0.6 of an ECC82's)
    in_guides = f"{guides.expected:.2f} V"
    assert outcome(build, "cathode", in_guides) == Outcome.OUT_OF_BAND
    assert outcome(build, "cathode", f"{own.expected:.2f} V") == Outcome.IN_BAND


@pytest.mark.lengthy
def test_a_designers_own_figure_is_moved_and_keeps_its_width(build):
    check = check_of(build, "typed")
    guides = band_for(check)
    base = stored.find_figure(check)["value"]
    build = fitted(build, "ECC81")
    context = build_context(build, check, None)
    share = stored.find_figure(context.check)["value"] / base
    assert share > 1.1
    assert context.guide_band.expected == pytest.approx(160 * share)
    assert context.guide_band.low / context.guide_band.high == pytest.approx(guides.low / guides.high)
    assert context.guide_band.stop_above == guides.stop_above


@pytest.mark.lengthy
def test_nothing_passes_while_the_figures_are_being_worked_out_and_a_stop_still_stops(build):
    check = check_of(build, "cathode")
    good = f"{band_for(check).expected:.2f} V"
    fitting.note_fitted(build, "V1", "Kestrel", "31", "first", entry_key=uuid4(), by=build.builder, type_="ECC81")
    own_valves.settle_valves(build)
    assert build.own_valves and build.valve_figures_id is None
    for key, typed in (("cathode", good), ("typed", "160 V"), ("typed", "120 V")):
        with pytest.raises(ChecksError) as caught:
            outcome(build, key, typed)
        assert caught.value.code == "valve-figures"
        with pytest.raises(ChecksError):
            take_reading(build, check_of(build, key), typed, by=build.builder)
    assert outcome(build, "typed", "450 V") == Outcome.SWITCH_OFF
    assert not build.readings.exists()
    codes = set(rules_for(build_context(build, check, None))["powers"]["-1"][::2])
    assert "i" not in codes and "x" in codes  # nor on a phone without a connection


@pytest.mark.lengthy
def test_a_check_that_the_circuit_cannot_tell_with_these_valves_is_not_judged(build):
    build = fitted(build, "ECC81")
    stored_ = build.valve_figures
    detail = stored_.detail | {"checks": {name: {"reason": {}} for name in stored_.detail["checks"]}}
    build.valve_figures = CircuitFigures.objects.create(key="none", detail=detail)
    for key in ("cathode", "typed"):
        assert build_context(build, check_of(build, key), None).band is None
        with pytest.raises(ChecksError):
            outcome(build, key, "160 V")


@pytest.mark.lengthy
def test_tested_valves_move_the_figure_and_narrow_the_band(build):
    guides = band_for(check_of(build, "cathode"))
    build = measured(build, 0.75)
    own = build_context(build, check_of(build, "cathode"), None).guide_band
    assert own.expected < guides.expected
    assert own.high - own.low < 0.7 * (guides.high - guides.low)
    row = next(row for row in list_followed(build) if row.check.key == "cathode")
    assert row.width == pytest.approx((own.high - own.low) / (guides.high - guides.low))
    assert outcome(build, "cathode", f"{guides.high * 0.99:.2f} V") == Outcome.OUT_OF_BAND  # the guide's would take it


@pytest.mark.lengthy
def test_a_swapped_valve_takes_its_test_figures_with_it(build):
    build = measured(build, 0.75)
    build = fitted(build)
    assert build.own_valves["V1"]["tested"]["a"]["anode_amps"] == pytest.approx(0.75 * 10.5e-3)
    build = fitted(build, why="faulty", make="Kestrel", code="99")
    assert build.own_valves == {}
    assert build_context(build, check_of(build, "cathode"), None).guide_band == band_for(check_of(build, "cathode"))
    build = fitted(build, why="places", make="kestrel", code=" 31")  # the tested one is back
    assert "tested" in build.own_valves["V1"]


@pytest.mark.lengthy
@pytest.mark.parametrize("marks", [{"make": "Northlight"}, {"code": "32"}, {"type_": "ECC81"}])
def test_figures_of_a_valve_with_other_marks_are_not_used(build, marks):
    build = measured(build, 0.75)
    build = fitted(build, **marks)
    assert "tested" not in build.own_valves.get("V1", {})


@pytest.mark.lengthy
def test_a_test_that_is_taken_back_holds_no_more(build, client):
    build = measured(build, 0.75)
    client.force_login(build.revision.kit.designers.get(), backend=BACKEND)
    for section in "ab":
        client.post(reverse("review:take-back-valve-test", args=[build.pk]), {"ref": "V1", "section": section})
    build.refresh_from_db()
    assert build.own_valves == {} and build.valve_tests.count() == 4


@pytest.mark.lengthy
def test_builds_are_compared_as_if_they_had_the_guides_valves(build):
    guides = band_for(check_of(build, "cathode"))
    build = fitted(build, "ECC81")
    context = build_context(build, check_of(build, "cathode"), None)
    reading = take_reading(build, check_of(build, "cathode"), f"{context.guide_band.expected:.3f} V", by=build.builder)
    assert reading.at_reference == pytest.approx(guides.expected, rel=0.01)
    assert (reading.low, reading.high) == (context.band.low, context.band.high)


@pytest.mark.lengthy
def test_the_rating_of_the_type_fitted_sets_the_stop(build):
    build = fitted(build, "ECC81")
    assert load_guide_as_fitted(build).parts["V1"].detail["type"] == "ECC81"
    assert "limits" not in load_guide_as_fitted(build).parts["V1"].detail  # the guide's were the ECC82's
    assert load_guide(build.revision).parts["V1"].detail["type"] == "ECC82"


@pytest.mark.lengthy
def test_the_worksheet_has_the_figures_of_the_valves_in_it(build):
    build = fitted(build, "ECC81")
    own = build_context(build, check_of(build, "typed"), None)
    sheets = worksheet(build, None, str)
    texts = {
        line.check.key: [f.figure for f in line.figures] for s in sheets for line in s.lines if hasattr(line, "check")
    }
    assert f"{own.band.expected:.0f}" in texts["typed"][0]


@pytest.mark.lengthy
def test_the_builder_is_asked_which_permitted_type_it_is(build, client):
    client.force_login(build.builder, backend=BACKEND)
    address = reverse("bench:valves", args=[build.pk])
    post = {"ref": "V1", "make": "Kestrel", "entry_key": uuid4()}
    for wrong in ({}, {"type_": "EL84"}, {"type_": "ecc81"}):
        assert client.post(address, post | wrong).status_code == 422
    assert not FittedValve.objects.exists()
    assert client.post(address, post | {"type_": "ECC81"}).status_code == 302
    build.refresh_from_db()
    assert build.own_valves == {"V1": {"type": "ECC81"}}


def designers_post(client, build, **fields):
    client.force_login(build.revision.kit.designers.get(), backend=BACKEND)
    row = {
        "section": "V1 a",
        "type": "ECC82",
        "anode_volts": "250",
        "grid_volts": "-8.5",
        "milliamps": "9",
        "slope": "2.1",
        "accuracy": "5",
        "entry_key": uuid4(),
    }
    return client.post(reverse("review:build-valves", args=[build.pk]), row | fields)


@pytest.mark.lengthy
def test_a_designer_enters_test_figures_once(build, client):
    key = uuid4()
    for _ in range(2):
        assert designers_post(client, build, entry_key=key).status_code == 302
    row = ValveTest.objects.get()
    assert (row.anode_amps, row.transconductance) == (pytest.approx(9e-3), pytest.approx(2.1e-3))
    build.refresh_from_db()
    assert build.own_valves["V1"]["tested"]["a"]["anode_amps"] == pytest.approx(9e-3)


@pytest.mark.lengthy
@pytest.mark.parametrize(
    "wrong",
    [
        {"milliamps": "90"},  # a point slipped
        {"milliamps": "0.9"},
        {"slope": "22"},
        {"grid_volts": "8.5"},
        {"anode_volts": "25"},
        {"type": "EL84"},
        {"section": "V2"},
        {"accuracy": "90"},
    ],
)
def test_test_figures_that_cannot_be_are_refused(build, client, wrong):
    assert designers_post(client, build, **wrong).status_code == 422
    assert not ValveTest.objects.exists()


@pytest.mark.parametrize(
    ("alternatives", "is_danger"),
    [
        ('["EL84"]', False),  # a pentode
        ('["6SN7"]', True),  # another base
        ('["ECC99X"]', False),  # nothing is known of it
        ('["ECC82"]', False),  # it is the guide's own
        ('[{ type = "ECC81", limts = {} }]', False),
        ("[4]", False),
        ('[{ note = "none" }]', False),
    ],
)
def test_an_alternative_that_does_not_suit_the_socket_is_refused(alternatives, is_danger):
    with pytest.raises(GuideErrors):
        _read(GUIDE.replace('["12AU7", "ECC81"]', alternatives))


OWN = """[{ type = "Z1", limits = { heater_volts = %s, heater_amps = 0.3, heater_centre = 1 },
model = { mu = 20, ex = 1.3, kg1 = 1000, kp = 100, kvb = 300 } }]""".replace("\n", " ")


def test_an_alternative_with_another_heater_is_refused():
    assert _read(GUIDE.replace('["12AU7", "ECC81"]', OWN % "6.3"))
    with pytest.raises(GuideErrors):
        _read(GUIDE.replace('["12AU7", "ECC81"]', OWN % "4"))


@pytest.mark.lengthy
def test_alternatives_come_back_out_of_the_file_as_they_went_in(build):
    text = write_guide(build.revision)
    assert _read(text)["part"][4]["alternatives"] == ["12AU7", "ECC81"]


def passed(build) -> set[str]:
    return set(build.statuses.filter(passed=True).values_list("check_row__key", flat=True))


def edge_of_the_guides(build) -> str:
    """In band by the guide's figures, and out for a weak valve's."""
    band = build_context(build, check_of(build, "cathode"), None).band
    return f"{band.high - 0.2 * (band.high - band.low):.3f} V"


@pytest.mark.lengthy
def test_a_pass_does_not_outlive_a_band_that_test_figures_narrow_past_it(build, client):
    cathode = check_of(build, "cathode")
    first = take_reading(build, cathode, edge_of_the_guides(build), by=build.builder)
    assert first.outcome == Outcome.IN_BAND and passed(build) == {"cathode"}
    build = measured(build, 0.75)
    assert passed(build) == set()
    first.refresh_from_db()
    assert first.outcome == Outcome.IN_BAND  # what was judged stays on record as it was
    acknowledge(open_sitting(build), cathode.stage, 230.0)
    client.force_login(build.builder, backend=BACKEND)
    page = client.get(reverse("bench:check", args=[build.pk, "valve", "cathode"])).context
    assert page["check_state"].is_outdated and page["shows_form"]


@pytest.mark.lengthy
def test_a_pass_that_the_new_figures_let_through_stays(build):
    own = measured(build, 0.9)
    value = build_context(own, check_of(own, "cathode"), None).guide_band.expected
    build = factories.make_build(revision=build.revision)
    take_reading(build, check_of(build, "cathode"), f"{value:.3f} V", by=build.builder)
    assert passed(build) == {"cathode"}
    assert passed(measured(build, 0.9)) == {"cathode"}


@pytest.mark.lengthy
def test_a_reading_before_the_test_confirms_none_after_it(build):
    take_reading(build, check_of(build, "cathode"), edge_of_the_guides(build), by=build.builder)
    build = measured(build, 0.9)
    band = build_context(build, check_of(build, "cathode"), None).band
    close = f"{band.high * 0.999:.2f} V"
    assert outcome(build, "cathode", close) == Outcome.TOO_CLOSE
    take_reading(build, check_of(build, "cathode"), close, by=build.builder)
    assert passed(build) == set()
    take_reading(build, check_of(build, "cathode"), close, by=build.builder)
    assert passed(build) == {"cathode"}


@pytest.mark.lengthy
def test_another_type_noted_later_asks_for_what_its_figures_would_not_pass(build):
    take_reading(build, check_of(build, "cathode"), edge_of_the_guides(build), by=build.builder)
    assert passed(fitted(build, "ECC81")) == set()


@pytest.mark.lengthy
def test_a_signed_off_build_keeps_what_it_was_signed_off_with(build):
    take_reading(build, check_of(build, "cathode"), edge_of_the_guides(build), by=build.builder)
    Build.objects.filter(pk=build.pk).update(finished_at="2026-01-05T10:00Z")
    build.refresh_from_db()
    assert passed(measured(build, 0.75)) == {"cathode"}
