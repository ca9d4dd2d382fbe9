"""The circuit model beside the guide's own figures: computed, shown, taken, and frozen with the revision."""

import copy
import re
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError
from django.urls import reverse
from django.utils import timezone

from builds.bench.readings.taking import take_reading
from builds.guides import revisions
from builds.guides.circuit import stored
from builds.guides.circuit.component_stress import stress_lines
from builds.guides.circuit.compute import compute
from builds.guides.circuit.content import build_content, make_key
from builds.guides.circuit.model_comparison import as_written, format_figure
from builds.guides.circuit.take_figure import as_numbers
from builds.guides.figures import band_for, expected_text, find_exponent, source_ohms
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import GuideErrors, circuit_warnings, read_guide, store_guide, write_guide
from builds.guides.models import Check, CircuitFigures, Part, Revision
from builds.jobs import queue
from builds.jobs.models import Job
from builds.ui.messages.circuit import circumstance_label
from builds.ui.templatetags.formatting import with_mains
from checks.errors import ChecksError
from tests import factories
from tests.builds.guides.part_fields import posted
from tests.builds.guides.sent_form import version_at

pytestmark = pytest.mark.django_db
GUIDE = """format = 1
[kit]
key = "divider"
name = "A supply and a divider"
revision = "A"
[[part]]
ref = "T1"
kind = "mains transformer"
regulation = "5%"
winding = [{ name = "primary", volts = "230 V", ohms = "50R", joins = ["mains.live", "mains.neutral"] },
           { name = "ht", volts = "200 V", amps = "50 mA", ohms = "200R", joins = ["ht.a", "chassis", "ht.b"] }]
[[part]]
ref = "D1"
kind = "diode"
joins = { anode = "ht.a", cathode = "ht" }
[[part]]
ref = "D2"
kind = "diode"
joins = { anode = "ht.b", cathode = "ht" }
[[part]]
ref = "C1"
kind = "electrolytic"
value = "47u"
volts = "450 V"
joins = ["ht", "chassis"]
[[part]]
ref = "R1"
kind = "resistor"
value = "100k"
tolerance = "5%"
power = "2W"
joins = ["ht", "mid"]
[[part]]
ref = "R2"
kind = "resistor"
value = "100k"
tolerance = "5%"
power = "2W"
joins = ["mid", "chassis"]
[[stage]]
key = "power"
title = "First power"
power = "on"
cautions = ["lethal-voltage"]
[[stage.check]]
key = "ht"
title = "B+"
measure = "dc volts"
red = "ht"
expected = "330 V"
band = "8%"
[[stage.check]]
key = "mid"
title = "The middle"
measure = "dc volts"
red = "mid"
expected = "model"
stop_above = "250 V"
"""


@pytest.fixture
def designer():
    return factories.make_designer()


@pytest.fixture
def draft(designer):
    return store_guide(read_guide(GUIDE.encode()), designer)


@pytest.fixture
def desk(client, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return client


def at(name, *more):
    return reverse(f"guides:{name}", args=["divider", "A", *more])


def check(draft, key) -> Check:
    return Check.objects.select_related("stage__revision").get(stage__revision=draft, key=key)


def test_same_circuit_same_hash_and_any_value_another(draft):
    content = build_content(draft, load_guide(draft))
    assert make_key(copy.deepcopy(content)) == make_key(content)
    for change in (
        lambda c: c["parts"][4].update(value="101k"),
        lambda c: c["mains"].update(volts=240),
        lambda c: c["stages"][0].update(not_fitted=["D1"]),
        lambda c: c["stages"][0]["checks"][0].update(red="mid"),
    ):
        other = copy.deepcopy(content)
        change(other)
        assert make_key(other) != make_key(content)


def test_words_do_not_change_the_hash(draft):
    before = make_key(build_content(draft, load_guide(draft)))
    draft.stages.update(title="Another title")
    Check.objects.filter(stage__revision=draft).update(note="Wait.")
    assert make_key(build_content(draft, load_guide(draft))) == before


@pytest.mark.lengthy
def test_half_the_supply_stands_on_the_middle_and_both_halves_share_the_scatter(draft):
    figures = compute(build_content(draft, load_guide(draft)), samples=500)["checks"]
    ht, mid = figures["power/ht"], figures["power/mid"]
    assert mid["value"] == pytest.approx(ht["value"] / 2, rel=1e-6)
    assert mid["exponent"] == pytest.approx(1.0, abs=0.02)
    assert {d["ref"] for d in mid["drivers"]} == {"T1", "R1", "R2"}
    assert mid["source_ohms"] == pytest.approx(50e3, rel=0.02)


def test_the_page_shows_figures_scatter_and_where_the_guide_differs(desk, draft):
    body = desk.get(at("circuit")).content.decode()
    assert "guide 330 V, model 293 V: 13 %" in body
    assert "All rated parts are within their limits" in body
    assert "2 parts have no stated limit" in body and '<span class="num">D1, D2' in body
    assert "any mains: " in body
    assert CircuitFigures.objects.count() == 1


@pytest.mark.lengthy
def test_no_part_is_called_safe_before_all_state_their_limits(desk, draft):
    for ref in ("D1", "D2"):
        part = Part.objects.get(revision=draft, ref=ref)
        part.detail["volts"] = "1000 V"
        part.save()
    body = desk.get(at("circuit")).content.decode()
    assert "All parts are within their limits" in body and "no stated limit" not in body


@pytest.mark.lengthy
def test_the_band_holds_at_a_known_line_since_the_bench_brings_it_to_the_builders_own(draft):
    """Over the permitted range (IEC 60038: 230 V ± 10 %) readings scatter more; a band that held it too would count the
    line twice."""
    figures = compute(build_content(draft, load_guide(draft)), samples=500)["checks"]["power/mid"]
    low, high = figures["any_line"]
    assert figures["high"] - figures["low"] < 0.6 * (high - low)
    assert 0.9 * figures["value"] > low and high > 1.08 * figures["value"]


def test_a_page_is_not_kept_waiting(desk, draft, settings):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    body = desk.get(at("circuit")).content.decode()
    assert 'hx-trigger="every 1s"' in body
    assert not CircuitFigures.objects.exists()
    with pytest.raises(revisions.FiguresPending, match="still being computed"):
        revisions.issue(draft)


@pytest.mark.lengthy
def test_issuing_too_early_asks_for_the_figures_and_shows_how_far_they_are(desk, draft, settings):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    body = desk.post(at("issue"), follow=True).content.decode()
    assert 'hx-trigger="every 1s"' in body and not Revision.objects.filter(state="issued").exists()
    assert Job.objects.get().state == "waiting"  # not undone with the refusal
    queue.run.call(Job.objects.get().pk)  # as a worker does
    assert "Issued" in desk.post(at("issue"), {"reason": "As the prototype."}, follow=True).content.decode()


def test_figures_that_could_not_be_computed_are_told_as_such(draft, monkeypatch):
    def broken(content, report):
        raise ChecksError("shorted", argument="joins", code="shorted-supply", node="ht")

    monkeypatch.setattr(stored, "compute", broken)
    with pytest.raises(revisions.NotReady, match="could not be computed. It feeds a shorted supply"):
        revisions.issue(draft)


def test_a_second_message_for_the_same_content_computes_nothing(draft, monkeypatch):
    stored.figures_or_job(draft)
    monkeypatch.setattr(stored, "compute", lambda *args, **more: pytest.fail("computed again"))
    stored.make_figures(lambda *args: None, draft.pk, "an older key")
    assert stored.compute_figures(draft, 500) == stored.saved_figures(draft)


@pytest.mark.lengthy
def test_old_figures_go_but_never_those_a_revision_was_issued_with(draft, monkeypatch):
    stored.figures_or_job(draft)
    issued = revisions.issue(draft)
    CircuitFigures.objects.create(key="of a draft long ago", detail={})
    CircuitFigures.objects.update(made_at=timezone.now() - timedelta(days=400))
    clone = revisions.clone(issued)
    Part.objects.filter(revision=clone, ref="R1").update(value="120k")
    stored.figures_or_job(clone)
    assert set(CircuitFigures.objects.all()) == {issued.figures, stored.saved_figures(clone)}


@pytest.mark.lengthy
def test_a_check_left_to_the_model_is_judged_by_it(draft):
    stored.figures_or_job(draft)
    revision = revisions.issue(draft)
    row = check(revision, "mid")
    band = band_for(row)
    assert band.low < 148 < band.high and band.stop_above == 250
    assert find_exponent(row) == pytest.approx(1.0, abs=0.02)
    assert source_ohms(row) == pytest.approx(50e3, rel=0.02)
    build = factories.make_build(revision=revision)
    assert take_reading(build, row, "148 V", by=build.builder, mains_volts=230.0).outcome == "in band"
    assert take_reading(build, row, "120 V", by=build.builder, mains_volts=230.0).outcome == "out of band"


@pytest.mark.lengthy
def test_an_issued_revision_keeps_the_figures_it_was_issued_with(draft):
    stored.figures_or_job(draft)
    revision = revisions.issue(draft)
    assert revision.figures.detail["checks"]["power/mid"]["value"] == pytest.approx(146.4, abs=1)
    assert (
        stored.saved_figures(revisions.clone(revision)) == revision.figures
    )  # the same circuit: nothing is computed twice


@pytest.mark.lengthy
def test_the_database_itself_keeps_the_figures_of_an_issued_revision(draft):
    stored.figures_or_job(draft)
    issued = revisions.issue(draft)
    other = CircuitFigures.objects.create(key="other", detail={"checks": {}})
    with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
        type(issued).objects.filter(pk=issued.pk).update(figures=other)
    with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
        CircuitFigures.objects.filter(pk=issued.figures_id).update(detail={})
    with pytest.raises(ProtectedError):
        issued.figures.delete()


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("typed", "kept", "judged"),
    [("", None, 1.0), ("mains_exponent = 0\n", 0.0, 0.0), ("mains_exponent = 0.5\n", 0.5, 0.5)],
)
def test_an_exponent_left_blank_is_the_models_and_a_zero_stays_the_designers(designer, typed, kept, judged):
    draft = store_guide(read_guide((GUIDE + typed).encode()), designer)
    stored.figures_or_job(draft)
    row = check(revisions.issue(draft), "mid")
    assert row.mains_exponent == kept
    assert find_exponent(row) == pytest.approx(judged, abs=0.02)
    again = read_guide(write_guide(row.stage.revision).encode())["stage"][0]["check"][1]
    assert again.get("mains_exponent") == kept


@pytest.mark.lengthy
def test_a_check_of_which_the_circuit_says_nothing_cannot_be_left_to_it(draft):
    Check.objects.filter(stage__revision=draft, key="mid").update(red="=the glowing end")
    with pytest.raises(revisions.NotReady, match="no figure for: The middle"):
        revisions.issue(draft)


@pytest.mark.lengthy
def test_why_the_circuit_says_nothing_of_a_check_is_told_when_issuing(draft):
    Check.objects.filter(stage__revision=draft, key="mid").update(measure="ac volts")
    with pytest.raises(revisions.NotReady, match=r"no figure for: The middle \(Without a signal"):
        revisions.issue(draft)


@pytest.mark.lengthy
def test_a_stop_limit_inside_the_models_band_is_told_before_issuing(draft):
    Check.objects.filter(stage__revision=draft, key="mid").update(stop_above="148 V")
    with pytest.raises(revisions.NotReady, match="The middle: The upper stop limit, 148, is inside the band"):
        revisions.issue(draft)


def take(desk, row, way):
    """A figure taken as the editor of the check asks."""
    page = desk.get(at("edit-inner", row.stage.key, "check", row.pk)).context
    return desk.post(at("circuit-take", row.pk), {"as": way, "version": page["take_version"]}, follow=True)


@pytest.mark.lengthy
def test_the_editor_offers_the_models_figure_and_takes_it_either_way(desk, draft):
    stored.figures_or_job(draft)
    row = check(draft, "ht")
    edit = at("edit-inner", "power", "check", row.pk)
    assert "95 % of good builds" in desk.get(edit).content.decode()
    take(desk, row, "numbers")
    row.refresh_from_db()
    assert (row.expected, row.band, row.figure_from) == ("293 V", "", "model")
    assert band_for(check(draft, "ht")).contains(293)
    take(desk, row, "model")
    row.refresh_from_db()
    assert (row.expected, row.low) == ("model", "")
    assert desk.post(at("circuit-take", row.pk), {"as": "guess"}).status_code == 404


@pytest.mark.lengthy
def test_a_check_may_take_what_the_prototype_read(desk, draft):
    stored.figures_or_job(draft)
    row = check(draft, "mid")
    assert "has no reading of the prototype" in take(desk, row, "prototype").content.decode()
    Check.objects.filter(pk=row.pk).update(prototype="139 V")
    take(desk, row, "prototype")
    row = check(draft, "mid")
    assert (row.expected, row.figure_from) == ("139 V", "prototype")
    assert band_for(row).low <= 139
    assert band_for(row).high > 148  # still wide enough for good builds
    assert expected_text(row) == "read on the prototype"


def test_zero_taken_as_numbers_leaves_room_for_what_a_meter_shows_of_it(draft):
    row = check(draft, "mid")
    row.model_figure = {"value": 0.0, "low": 0.0, "high": 0.0}
    assert as_numbers(row).is_done
    assert band_for(row).contains(0.01) and not band_for(row).contains(0.2)


@pytest.mark.lengthy
def test_an_overworked_part_is_listed_before_issuing(desk, draft):
    Part.objects.filter(revision=draft, ref="R1").update(detail={"joins": ["ht", "mid"], "power": "100 mW"})
    stored.figures_or_job(draft)
    assert ("over-limit", "R1") in [
        (o.code, o.params.get("ref")) for o, _words in desk.get(at("revision")).context["serious"]
    ]
    body = desk.get(at("circuit")).content.decode()
    assert "Parts over their limits" in body
    over = stress_lines(stored.saved_figures(draft).detail["stresses"])[0]
    assert over.ref == "R1" and {c["at"] for c in over.cells if c and c["over"]} >= {
        "builds at high mains",
        "high mains",
    }
    assert all(circumstance_label(c["at"]) in body for c in over.cells if c)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('regulation = "5%"\n', "", "T1"),
        (
            'value = "100k"\ntolerance = "5%"\npower = "2W"\njoins = ["ht", "mid"]',
            'value = "100k"\njoins = ["ht"]',
            "two nodes",
        ),
    ],
)
def test_a_circuit_with_troubles_is_refused_with_its_line_when_a_check_needs_it(old, new, said):
    text = GUIDE.replace(old, new).replace(', ohms = "200R"', "" if "regulation" in old else ', ohms = "200R"')
    with pytest.raises(GuideErrors) as caught:
        read_guide(text.encode())
    assert said in str(caught.value)
    assert "line 0" not in str(caught.value)


@pytest.mark.lengthy
def test_the_same_troubles_do_not_hold_up_a_guide_with_figures_of_its_own(designer, desk):
    text = GUIDE.replace('joins = ["mid", "chassis"]', 'joins = ["elsewhere", "chassis"]').replace(
        '"model"', '"165 V"\nband = "8%"'
    )
    store_guide(read_guide(text.encode()), designer)
    assert "circuit problem" in desk.get(at("circuit")).content.decode()
    assert "R2: Nothing else is joined to node elsewhere." in desk.get(at("revision")).content.decode()


@pytest.mark.lengthy
def test_an_import_tells_the_circuits_troubles_with_their_lines(desk):
    text = GUIDE.replace('joins = ["mid", "chassis"]', 'joins = ["elsewhere", "chassis"]').replace(
        '"model"', '"165 V"\nband = "8%"'
    )
    file = SimpleUploadedFile("guide.toml", text.encode())
    body = desk.post(reverse("guides:import"), {"guide": file}, follow=True).content.decode()
    line = text.splitlines().index('ref = "R2"')  # the table's own line stands before it
    assert "Imported as a draft" in body and "R2: Nothing else is joined to node elsewhere." in body
    assert [w.line for w in circuit_warnings(text.encode())] == [text[: text.index('ref = "R1"')].count("\n"), line]


@pytest.mark.lengthy
def test_a_file_with_a_loose_end_that_was_issued_is_a_draft_again_which_says_so(desk):
    """Somebody may issue it with a written reason, so its own file has to come back too."""
    text = GUIDE.replace('joins = ["mid", "chassis"]', 'joins = ["elsewhere", "chassis"]')
    file = SimpleUploadedFile("guide.toml", text.encode())
    body = desk.post(reverse("guides:import"), {"guide": file}, follow=True).content.decode()
    assert "Imported as a draft" in body and "R2: Nothing else is joined to node elsewhere." in body
    assert "serious objection" in body


@pytest.mark.parametrize(("node", "is_told"), [("mains.inlet", False), ("mains.fused", True)])
def test_a_mains_lead_that_is_no_part_of_the_list_comes_in_at_the_inlets_node(node, is_told):
    fuse = f'[[part]]\nref = "F9"\nkind = "fuse"\nvalue = "500 mA"\njoins = ["{node}", "mains.live"]\n\n'
    at = GUIDE.index("[[part]]")
    guide = (GUIDE[:at] + fuse + GUIDE[at:]).encode()
    assert read_guide(guide)
    assert any("F9" in warning.message for warning in circuit_warnings(guide)) == is_told


def test_a_sound_guide_is_imported_without_a_warning():
    assert circuit_warnings(GUIDE.encode()) == []


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('red = "mid"', 'red = "=the glowing end"', "check mid expected: "),
        ('measure = "dc volts"\nred = "mid"', 'measure = "temperature"\nred = "mid"', "check mid expected: "),
    ],
)
def test_a_reading_the_circuit_knows_nothing_of_cannot_be_left_to_it(old, new, said):
    with pytest.raises(GuideErrors, match=said) as caught:
        read_guide(GUIDE.replace(old, new).replace('stop_above = "250 V"\n', "").encode())
    assert caught.value.problems[0].line > 40


def test_a_supply_that_is_not_calculated_stops_the_checks_on_it_at_import_and_no_others(designer):
    text = GUIDE.replace('kind = "electrolytic"\nvalue = "47u"', 'kind = "capacitor"\nvalue = "47n"')
    with pytest.raises(GuideErrors, match="check mid: .*which has none.*D1.*no reservoir capacitor"):
        read_guide(text.encode())
    other = text.replace(
        'measure = "dc volts"\nred = "mid"\nexpected = "model"\nstop_above = "250 V"',
        'measure = "ac volts"\nred = "heater"\nexpected = "model"',
    )
    heater = '{ name = "heater", volts = "6.3 V", amps = "1 A", ohms = "0.2R", joins = ["heater", "chassis"] }]'
    other = other.replace(
        '["ht.a", "chassis", "ht.b"] }]', '["ht.a", "chassis", "ht.b"] },\n           ' + heater, 1
    ).replace(
        "[[stage]]",
        '[[part]]\nref = "R3"\nkind = "resistor"\nvalue = "10R"\njoins = ["heater", "chassis"]\n[[stage]]',
        1,
    )
    draft = store_guide(read_guide(other.encode()), designer)
    figures = compute(build_content(draft, load_guide(draft)), samples=200)["checks"]
    assert (
        figures["power/ht"]["reason"] == {"code": "no-reservoir", "params": {"refs": "D1"}}
        and "value" not in figures["power/ht"]
    )
    assert figures["power/mid"]["value"] == pytest.approx(6.48, abs=0.1)


@pytest.mark.lengthy
def test_the_editor_refuses_a_part_its_circuit_cannot_use_while_a_check_needs_it(desk, draft):
    part = Part.objects.get(revision=draft, ref="R1")
    form = posted('joins = ["ht"]', ref="R1", kind="resistor", value="100k", tolerance="5%", quantity=1)
    page = at("edit", "part", part.pk)
    answer = desk.post(page, form | version_at(desk, page))
    assert answer.status_code == 422 and "two nodes" in answer.content.decode()
    Check.objects.filter(stage__revision=draft, key="mid").update(expected="165 V", band="8%")
    assert desk.post(page, form | version_at(desk, page)).status_code == 302
    assert "two nodes" in desk.get(at("revision")).content.decode()


def test_the_editor_asks_for_figures_and_shows_how_far_they_are(desk, draft, settings):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    row = check(draft, "ht")
    one = at("circuit-of", row.pk)
    text = desk.get(at("edit-inner", "power", "check", row.pk)).content.decode()
    assert re.search(rf'hx-get="{one}"\s+hx-trigger="load"', text)
    body = desk.get(one, headers={"HX-Request": "true"}).content.decode()
    assert 'hx-trigger="every 1s"' in body
    queue.run.call(Job.objects.get().pk)
    body = desk.get(one, headers={"HX-Request": "true"}).content.decode()
    assert "95 % of good builds" in body and "hx-get" not in body
    assert desk.get(one).status_code == 302  # without JavaScript: the whole editor


def test_a_band_that_leaves_out_good_builds_is_remarked_on(desk, draft):
    Check.objects.filter(stage__revision=draft, key="ht").update(expected="310 V", band="1%")
    body = desk.get(at("circuit")).content.decode()
    assert "good builds read down to" in body and "the band begins at 307 V" in body
    Check.objects.filter(stage__revision=draft, key="ht").update(expected="293 V", band="20%")
    assert "good builds read" not in desk.get(at("circuit")).content.decode()


def test_every_circumstance_of_a_stress_is_shown_and_the_worst_come_first():
    rows = [
        {"ref": ref, "what": "dissipation", "value": value, "limit": 2.0, "unit": "W", "at": where, "over": over}
        for ref, value, where, over in (
            ("R1", 1.0, "nominal", False),
            ("R1", 1.9, "high mains", False),
            ("R2", 1.5, "nominal", False),
            ("R2", 2.1, "97.5 % of builds", True),
        )
    ]
    first, second = stress_lines(rows)
    assert (first.ref, first.over, [c and c["value"] for c in first.cells]) == ("R2", True, [1.5, None, 2.1])
    assert (second.ref, second.over, second.nearest) == ("R1", False, 0.95)


def test_figures_of_an_old_issue_keep_what_they_were_computed_for():
    rows = [
        {"ref": "R1", "what": "dissipation", "value": 1.0, "limit": 2.0, "unit": "W", "at": at, "over": False}
        for at in ("nominal", "97.5 % of builds", "switch-on")
    ]
    [line] = stress_lines(rows)
    assert [circumstance_label(cell["at"]) for cell in line.cells][1:] == [
        "97.5 % of builds at any mains",
        "Switch-on, highest mains",
    ]


def test_assumed_tolerances_are_shown_beside_the_figures(desk, draft):
    stored.figures_or_job(draft)
    assumed = stored.saved_figures(draft).detail["assumed"]
    assert assumed and all(row["plus"] > 0 and row["refs"] for row in assumed)
    body = desk.get(at("circuit")).content.decode()
    assert "Assumed tolerances" in body
    assert all(ref in body for row in assumed for ref in row["refs"])


def test_the_chart_says_where_a_figure_is_from(client, designer):
    valve = """[[part]]
ref = "V1"
kind = "triode"
type = "EC90"
base = "B7G"
pins = { anode = "1" }
joins = { anode = "mid" }
"""
    text = GUIDE.replace("[[stage]]", valve + "[[stage]]").replace('red = "mid"', 'red = "V1.1"')
    text = text.replace('"model"', '"146 V"\nband = "9%"')
    draft = store_guide(read_guide(text.encode()), designer)
    for source, phrase in (
        ("designer", "the designer’s figure"),
        ("prototype", "read on the prototype"),
        ("model", "from the circuit model"),
    ):
        Check.objects.filter(stage__revision=draft, key="mid").update(figure_from=source)
        build = factories.make_build(revision=draft)
        client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
        assert phrase in client.get(reverse("bench:charts", args=[build.pk, "voltage"])).content.decode()


@pytest.mark.lengthy
def test_a_draft_shows_the_models_figure_where_a_check_is_left_to_it(desk, draft):
    stored.figures_or_job(draft)
    assert "model: 146 V" in desk.get(at("revision")).content.decode()


@pytest.mark.lengthy
def test_the_editors_queries_do_not_grow_with_the_guide(desk, draft, django_assert_num_queries):
    stored.figures_or_job(draft)
    row = check(draft, "ht")
    pages = {at("revision"): 14, at("circuit"): 11, at("edit-inner", "power", "check", row.pk): 14}
    for address, queries in pages.items():
        desk.get(address)
        with django_assert_num_queries(queries):
            desk.get(address)


def test_what_is_above_its_figure_where_that_does_not_hold_is_marked_as_such():
    """A design-centre limit holds at nominal mains (IEC 60134:1961): 12.7 W at high mains is beyond 12 W, and not over
    it."""
    stress = {"ref": "V2", "what": "anode dissipation", "limit": 12.0, "unit": "W", "over": False}
    [line] = stress_lines([stress | {"at": "nominal", "value": 10.4}, stress | {"at": "high mains", "value": 12.7}])
    assert [mark for _cell, mark in line.marked] == ["", "unjudged"] and line.is_unsupported and not line.over
    [worse] = stress_lines(
        [stress | {"at": "nominal", "value": 12.1, "over": True}, stress | {"at": "high mains", "value": 14.0}]
    )
    assert [mark for _cell, mark in worse.marked] == ["over", "unjudged"] and not worse.is_unsupported
    [sound] = stress_lines([stress | {"at": "nominal", "value": 12.0}])
    assert not sound.is_unsupported


@pytest.mark.parametrize(
    ("typed", "unit", "said"),
    [
        ("1k5", "Ω", "1.5 kΩ"),
        ("50R", "Ω", "50 Ω"),
        ("223k", "Ω", "223 kΩ"),
        ("-0.5 V", "V", "−0.5 V"),
        ("about ten", "V", "about ten"),
    ],
)
def test_the_guides_figures_are_written_as_the_circuits_are(typed, unit, said):
    assert as_written(typed, unit) == said


def test_nothing_is_nothing_and_a_minus_is_one():
    assert [format_figure(v, "W") for v in (0.0, 3e-15, -7.3, 0.25)] == ["0 W", "0 W", "−7.30 W", "250 mW"]
    assert [with_mains(e) for e in (None, 0.02, 0.99, 1.5, -0.4)] == [
        "does not change",
        "does not change",
        "in proportion",
        "to the power 1.5",
        "to the power −0.4",
    ]
