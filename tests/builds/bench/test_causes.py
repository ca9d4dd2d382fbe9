"""The explanation under a reading that is off, and the designer's side of it."""

from dataclasses import replace
from uuid import uuid4

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from builds.bench.diagnosis.allowed_measurements import allowed_measurements, is_wired
from builds.bench.diagnosis.diagnose import diagnose
from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import ConfirmedFault, MadeSafe
from builds.bench.readings.repeats import find_repeated
from builds.bench.readings.taking import take_reading
from builds.guides import revisions
from builds.guides.circuit import fault_dictionary
from builds.guides.circuit.own_faults import with_usual
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import GuideErrors, read_guide, store_guide, write_guide
from builds.guides.models import Check, Step
from builds.guides.soldering import soldering_step
from builds.ui.messages.faults import fault_sentence
from builds.ui.messages.left_out import left_out_sentences
from checks.circuit import part_from_mapping
from checks.diagnosis import bounds, fault_list
from checks.diagnosis.advice import AdviceCode
from checks.diagnosis.codes import FaultCode
from checks.errors import ChecksError
from tests import factories
from tests.builds.guides.test_circuit import GUIDE
from tests.checks.circuit.kits import resistor

pytestmark = pytest.mark.django_db
OWN = """[[fault]]
key = "bad-batch"
words = "R2 is 47 kilohm, from the bad batch"
part = "R2"
becomes = "47k"
weight = 5
[[stage]]
"""


def guide_with(own=""):
    return GUIDE.replace("[[stage]]\n", own or "[[stage]]\n", 1)


@pytest.fixture
def designer():
    return factories.make_designer()


@pytest.fixture
def build(designer):
    revision = revisions.issue(store_guide(read_guide(guide_with(OWN).encode()), designer))
    return factories.make_build(revision=revision)


def check(build, key):
    return Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key=key)


def read(build, key, typed):
    return take_reading(build, check(build, key), typed, by=build.builder, mains_volts=230.0)


@pytest.mark.lengthy
def test_the_cause_is_named_with_what_it_would_read_and_where_to_look(build, client):
    read(build, "ht", "293 V")
    read(build, "mid", "94 V")
    diagnosis = diagnose(build, check(build, "mid"))
    assert diagnosis.causes[0].fault.key == "own bad-batch"
    assert diagnosis.causes[0].weight in ("likely", "very likely")
    assert diagnosis.causes[0].would_read.startswith("about 9")
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    acknowledge(open_sitting(build), check(build, "mid").stage, 230.0)
    page = client.get(reverse("bench:check", args=[build.pk, "power", "mid"])).content.decode()
    assert "R2 is 47 kilohm, from the bad batch" in page
    assert "It can be wrong" in page


@pytest.mark.lengthy
def test_the_next_reading_is_one_with_the_power_off(build):
    read(build, "mid", "0.2 V")
    diagnosis = diagnose(build, check(build, "mid"))
    assert diagnosis.suggestion.place.power == "off"
    assert diagnosis.suggestion.points_to


@pytest.mark.lengthy
def test_a_reading_in_band_asks_for_no_cause(build, client):
    read(build, "mid", "146 V")
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    acknowledge(open_sitting(build), check(build, "mid").stage, 230.0)
    assert "Possible causes" not in client.get(reverse("bench:check", args=[build.pk, "power", "mid"])).content.decode()


def test_without_a_circuit_the_designers_hints_serve(client):
    build = factories.make_build()
    row = build.revision.stages.first().checks.first()
    assert fault_dictionary.load_fault_dictionary(build.revision) is None
    assert diagnose(build, row) is None


@pytest.mark.lengthy
def test_own_faults_go_out_and_in_with_the_guide(build):
    again = read_guide(write_guide(build.revision).encode())
    assert again["fault"][0]["key"] == "bad-batch"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('part = "R2"\nbecomes', 'part = "R9"\nbecomes', "R9 is not in the parts list"),
        ('becomes = "47k"', 'becomes = "bent"', "Accepted: open, short"),
        ("weight = 5", 'weight = "much"', "“weight” is not accepted here"),
        ('words = "R2 is', 'wrods = "R2 is', "wrods"),
    ],
)
def test_a_fault_that_cannot_be_is_refused_with_its_line(old, new, said):
    with pytest.raises(GuideErrors) as caught:
        read_guide(guide_with(OWN).replace(old, new).encode())
    assert said in str(caught.value)
    assert "line 0" not in str(caught.value)


def test_two_faults_of_one_key_are_refused_by_line():
    twice = OWN.replace("[[stage]]\n", OWN.replace("R2 is", "R2 was"))
    with pytest.raises(GuideErrors, match="line 46, fault: "):
        read_guide(guide_with(twice).encode())


def test_a_usual_fault_takes_the_designers_words_and_weight(designer):
    parts = [
        part_from_mapping(resistor("R1", "a", "b", "10k")),
        part_from_mapping(resistor("R2", "b", "chassis", "10k")),
    ]
    usual = {fault.key: fault for fault in fault_list(parts)}
    faults = with_usual(
        parts, [{"key": "joint", "words": "R1's lead breaks", "part": "R1", "becomes": "open", "weight": 9}]
    )
    assert faults[-1].words == "R1's lead breaks" and faults[-1].weight == 9.0
    assert faults[-1].moves == usual["R1 open"].moves
    assert "R1 open" not in {fault.key for fault in faults} and len(faults) == len(usual)
    with pytest.raises(ChecksError) as refused:
        with_usual(parts, [{"key": "joint", "words": "Bent", "part": "R1", "becomes": "bent"}])
    assert refused.value.params["known"][:2] == ["open", "short"]


@pytest.mark.lengthy
def test_a_confirmed_cause_is_learned_from_and_can_be_taken_back(build, designer, client):
    read(build, "ht", "293 V")
    read(build, "mid", "94 V")
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    page = reverse("review:faults", args=["divider", "A"])
    assert "from the bad batch" in client.get(page).content.decode()
    for _ in range(2):  # a double tap
        client.post(reverse("review:confirm-fault", args=[build.pk]), {"fault": "own bad-batch"})
    row = ConfirmedFault.objects.get()
    assert "What the diagnosis learned" in client.get(page).content.decode()
    client.post(reverse("review:take-back-fault", args=[build.pk, row.pk]))
    assert "What the diagnosis learned" not in client.get(page).content.decode()
    refused = client.post(reverse("review:confirm-fault", args=[build.pk]), {"fault": "no such"}, follow=True)
    assert "is not one of this kit" in refused.content.decode()
    assert ConfirmedFault.objects.filter(taken_back_at=None).count() == 0


@pytest.mark.lengthy
def test_far_paths_fill_no_list_of_root_causes_but_can_be_typed(build, designer, client):
    read(build, "ht", "293 V")
    read(build, "mid", "94 V")
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    response = client.get(reverse("review:faults", args=["divider", "A"]))
    known = fault_dictionary.load_fault_dictionary(build.revision).faults
    told = {f.key for row in response.context["rows"] for c in row.causes for place in (c.at, *c.others) for f in place}
    paths = {f.key for f in known if f.code is FaultCode.STRAY_PATH}
    offered = {f.key for f in response.context["every"]}
    assert paths - told and offered == {f.key for f in known} - (paths - told)
    client.post(reverse("review:confirm-fault", args=[build.pk]), {"fault": min(paths - told)})
    assert ConfirmedFault.objects.get().fault == min(paths - told)


@pytest.mark.lengthy
def test_coverage_tells_what_to_add(build, designer, client):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    body = client.get(reverse("review:coverage", args=["divider", "A"])).content.decode()
    assert "Readings worth adding" in body
    assert "detects" in body


@pytest.mark.lengthy
def test_of_a_guide_beyond_the_bound_the_designers_pages_say_what_is_left_out(designer, client, monkeypatch):
    monkeypatch.setattr(bounds, "MOST_NUMBERS", 300)
    revisions.issue(store_guide(read_guide(guide_with(OWN.replace("weight = 5", "weight = 4")).encode()), designer))
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    for name in ("review:coverage", "review:faults"):
        left_out = client.get(reverse(name, args=["divider", "A"])).context["prepared"].left_out
        assert left_out.extras and left_out.faults
        for sentence in left_out_sentences(left_out):
            assert sentence in client.get(reverse(name, args=["divider", "A"])).content.decode()


@pytest.mark.lengthy
def test_of_a_guide_within_the_bound_nothing_is_said_to_be_left_out(build, designer, client):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("review:coverage", args=["divider", "A"]))
    assert not page.context["prepared"].left_out and "leaves out" not in page.content.decode()


def place_to_try(build):
    from builds.guides.circuit.fault_dictionary import load_fault_dictionary

    return next(p for p in load_fault_dictionary(build.revision).places if not p.check)


def extra_address(build, place):
    return reverse("bench:extra", args=[build.pk, "power", "mid"]) + f"?place={place.name}"


@pytest.fixture
def at_bench(build, client):
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    diagnose(build, check(build, "mid"))  # nothing to say yet; the book is there
    return client


@pytest.mark.lengthy
def test_an_extra_reading_is_taken_once_and_enters_the_ranking(build, at_bench):
    from builds.bench.diagnosis.observations import observations

    place, key = place_to_try(build), "5b1a7c3e-0000-4000-8000-000000000001"
    page = at_bench.get(extra_address(build, place))
    assert page.status_code == 200 and "power off" in page.content.decode().lower()
    for _ in range(2):  # a double tap
        answer = at_bench.post(extra_address(build, place), {"typed": "4k7", "entry_key": key, "place": place.name})
        assert answer.status_code == 302
    assert [(e.typed, e.value) for e in build.extra_readings.all()] == [("4k7", 4700.0)]
    assert place.name in {o.place for o in observations(build)}


@pytest.mark.lengthy
def test_an_extra_reading_that_cannot_be_read_keeps_the_form(build, at_bench):
    place = place_to_try(build)
    answer = at_bench.post(
        extra_address(build, place),
        {"typed": "lots", "place": place.name, "entry_key": "5b1a7c3e-0000-4000-8000-000000000002"},
    )
    assert answer.status_code == 422 and "lots" in answer.content.decode()
    assert not build.extra_readings.exists()


@pytest.mark.lengthy
def test_no_extra_reading_before_the_kit_is_made_safe(build, at_bench):
    read(build, "ht", "293 V")
    answer = at_bench.get(extra_address(build, place_to_try(build)))
    assert answer.status_code == 302 and "make-safe" in answer["Location"]


@pytest.mark.lengthy
def test_a_place_nobody_knows_is_not_found(build, at_bench):
    assert (
        at_bench.get(reverse("bench:extra", args=[build.pk, "power", "mid"]) + "?place=off nowhere").status_code == 404
    )


@pytest.mark.lengthy
def test_what_was_measured_before_a_repair_does_not_count(build):
    from builds.bench.readings import extras

    place = place_to_try(build)
    read(build, "mid", "94 V")
    extras.take_extra(build, place, "OL", entry_key="5b1a7c3e-0000-4000-8000-000000000003", by=build.builder)
    assert [o.value for o in extras.extra_observations(build)] == [None]
    read(build, "mid", "146 V")
    assert extras.extra_observations(build) == []


@pytest.mark.lengthy
def test_after_a_stop_nothing_is_asked_for_with_the_power_on(designer):
    text = guide_with().replace(
        'measure = "dc volts"\nred = "ht"\n', 'measure = "dc volts"\nred = "ht"\nstop_above = "400 V"\n', 1
    )
    build = factories.make_build(revision=revisions.issue(store_guide(read_guide(text.encode()), designer)))
    row = check(build, "ht")
    read(build, "ht", "500 V")
    allowed = allowed_measurements(build, row)
    powered = [p for p in fault_dictionary.load_fault_dictionary(build.revision).places if p.power == "on"]
    assert powered and not any(allowed(place) for place in powered)
    MadeSafe.objects.create(entry_key=uuid4(), build=build, typed="1", volts=1.0, is_safe=True)
    assert not any(allowed_measurements(build, row)(place) for place in powered)
    off = [p for p in fault_dictionary.load_fault_dictionary(build.revision).places if p.power == "off"]
    assert off and any(allowed(place) for place in off)


@pytest.mark.lengthy
def test_before_the_kit_is_wired_no_part_of_it_is_asked_for(designer, client):
    text = guide_with().replace(
        "[[stage]]\n",
        '[[stage]]\nkey = "wire"\ntitle = "Wire it"\ngate = false\n[[stage.step]]\nkey = "r"\n'
        'text = "Fit R1 and R2."\nparts = ["R1", "R2"]\n[[stage]]\n',
        1,
    )
    build = factories.make_build(revision=revisions.issue(store_guide(read_guide(text.encode()), designer)))
    read(build, "mid", "0.2 V")
    extra = next(
        p for p in fault_dictionary.load_fault_dictionary(build.revision).places if not p.check and p.power == "off"
    )
    assert not allowed_measurements(build, check(build, "mid"))(extra) and not is_wired(build)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    page = reverse("bench:extra", args=[build.pk, "power", "mid"])
    assert client.post(page, {"place": extra.name, "typed": "OL", "entry_key": uuid4()}).status_code == 302
    assert not build.extra_readings.exists()
    build.ticks.create(step=build.revision.stages.first().steps.get())
    assert allowed_measurements(build, check(build, "mid"))(extra)


@pytest.mark.lengthy
def test_nothing_behind_a_gate_is_asked_for(designer):
    text = (
        guide_with().replace('power = "on"', 'power = "on"\ngate = true', 1)
        + """
[[stage]]
key = "later"
title = "Later"
power = "off"
[[stage.check]]
key = "mid-ohms"
title = "Middle, ohms"
measure = "resistance"
red = "mid"
expected = "50k"
band = "10%"
"""
    )
    build = factories.make_build(revision=revisions.issue(store_guide(read_guide(text.encode()), designer)))
    read(build, "mid", "0.2 V")
    later = next(p for p in fault_dictionary.load_fault_dictionary(build.revision).places if p.check == "mid-ohms")
    assert not allowed_measurements(build, check(build, "mid"))(later)


@pytest.mark.lengthy
def test_a_healthy_reading_against_a_wrong_figure_is_no_slip(designer, client):
    """The guide says 100 V where a good kit reads 146 V: the reading fits the parts list, and no other reading is
    spoken of."""
    build = factories.make_build(revision=revisions.issue(store_guide(read_guide(guide_with().encode()), designer)))
    read(build, "mid", "146 V")
    diagnosis = diagnose(build, check(build, "mid"))
    assert diagnosis.fits and not diagnosis.slip and diagnosis.supporting == 0 and diagnosis.suggestion is None
    assert [said.code for said in diagnosis.opinions()][:1] == [AdviceCode.FITS_GOOD_KIT]


@pytest.mark.lengthy
def test_a_part_measured_by_itself_has_no_card(build):
    row = check(build, "mid")
    row.key = "not-in-the-circuit"
    assert diagnose(build, row) is None


@pytest.mark.lengthy
def test_the_designer_sees_what_was_mended_and_says_what_it_was(build, designer, client):
    read(build, "ht", "293 V")
    read(build, "mid", "94 V")
    read(build, "mid", "146 V")
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    page = reverse("review:faults", args=["divider", "A"])
    body = client.get(page).content.decode()
    assert "Repaired since" in body and "from the bad batch" in body
    other = next(f for f in fault_dictionary.load_fault_dictionary(build.revision).faults if f.key == "R1 open")
    client.post(reverse("review:confirm-fault", args=[build.pk]), {"fault": fault_sentence(other)})
    assert ConfirmedFault.objects.get().fault == "R1 open"
    assert "Confirmed root cause:" in client.get(page).content.decode()


@pytest.mark.lengthy
def test_parts_are_looked_for_where_they_are_fitted_and_not_where_they_are_sorted(designer):
    steps = (
        '[[stage]]\nkey = "sort"\ntitle = "Sort"\n[[stage.step]]\nkey = "all"\ntext = "Sort."\n'
        'parts = ["R1", "R2", "C1"]\n'
        '[[stage]]\nkey = "fit"\ntitle = "Fit"\n[[stage.step]]\nkey = "r2"\ntext = "Fit R2."\nparts = ["R2"]\n'
        "[[stage]]\n"
    )
    revision = revisions.issue(
        store_guide(read_guide(guide_with().replace("[[stage]]\n", steps, 1).encode()), designer)
    )
    stage, step = soldering_step(load_guide(revision), ("R2",))
    assert (stage.key, step.key) == ("fit", "r2")
    assert soldering_step(load_guide(revision), ("D1",)) is None


@pytest.mark.lengthy
def test_the_card_shows_the_guides_picture_of_where_a_part_is_fitted(build):
    read(build, "ht", "293 V")
    read(build, "mid", "94 V")
    diagnosis = diagnose(build, check(build, "mid"))
    stage = build.revision.stages.first()
    step = Step(stage=stage, key="fit-r2", text="Fit R2.", picture="board.png")
    shown = replace(diagnosis, causes=(replace(diagnosis.causes[0], step=(stage, step)),))
    page = render_to_string("bench/_causes.html", {"found": shown, "build": build, "check": check(build, "mid")})
    assert reverse("bench:picture", args=[build.pk, "board.png"]) in page and "#step-fit-r2" in page


@pytest.mark.lengthy
def test_a_valve_goes_in_after_the_last_stage_that_leaves_it_out(designer):
    stages = (
        '[[stage]]\nkey = "sort"\ntitle = "Sort"\n[[stage.step]]\nkey = "all"\ntext = "Sort."\nparts = ["R1"]\n'
        '[[stage]]\nkey = "bare"\ntitle = "Bare"\nnot_fitted = ["R1"]\n[[stage.step]]\nkey = "look"\n'
        'text = "Look."\n[[stage]]\n'
    )
    revision = revisions.issue(
        store_guide(read_guide(guide_with().replace("[[stage]]\n", stages, 1).encode()), designer)
    )
    stage, step = soldering_step(load_guide(revision), ("R1",))
    assert (stage.key, step) == ("power", None)


@pytest.mark.lengthy
def test_a_reading_taken_twice_is_hardly_a_slip(build):
    read(build, "ht", "293 V")
    read(build, "mid", "30 V")
    once = diagnose(build, check(build, "mid"))
    read(build, "mid", "30.1 V")
    twice = diagnose(build, check(build, "mid"))
    assert twice.again and not once.again
    assert twice.clear < once.clear
    read(build, "mid", "150 V")
    assert not diagnose(build, check(build, "mid")).again  # it came out otherwise
    assert find_repeated([build]) == set()


BOND = """[[stage]]
key = "bond"
title = "Earth"
[[stage.check]]
key = "earth"
title = "Earth bond"
measure = "continuity"
red = "=the earth pin of the plug"
at_most = "0.5R"
[[stage]]
"""


@pytest.mark.lengthy
def test_a_reading_that_the_circuit_has_no_figure_for_is_called_neither_good_nor_unexplained(designer, client):
    """It was compared with nothing: no fault is ruled out, and no kit is called good but for it."""
    revision = revisions.issue(store_guide(read_guide(guide_with(BOND).encode()), designer))
    build = factories.make_build(revision=revision)
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    page = reverse("review:faults", args=["divider", "A"])
    assert "No reading has been taken yet" in client.get(page).content.decode()
    read(build, "earth", "3.0")
    said = client.get(page).content.decode()
    assert "The circuit model has no figure for these checks" in said
    assert "fit a good kit" not in said and "No single known fault" not in said
