"""What stands against issuing a guide is shown, and a serious objection needs a written reason that is kept."""

import pytest
from django.db import DatabaseError, transaction
from django.urls import reverse

from builds.bench.readings.taking import take_reading
from builds.guides.circuit.stored import compute_figures
from builds.guides.demo.files import demo_zip
from builds.guides.figures import band_for
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Check, Revision
from builds.guides.objection_texts import objection_sentence
from builds.guides.objections import Level, objections_to
from builds.guides.revisions import NotReady, ReasonNeeded, clone, issue, issue_reviewed
from checks.errors import ChecksError
from tests import factories

pytestmark = pytest.mark.django_db

GUIDE = """format = 1
[kit]
key = "objections"
name = "Objections"
revision = "A"
[[part]]
ref = "T1"
kind = "mains transformer"
[[part.winding]]
name = "primary"
volts = "230 V"
ohms = "30R"
joins = ["mains.live", "mains.neutral"]
[[part.winding]]
name = "ht"
volts = "230 V"
amps = "50 mA"
ohms = "100R"
joins = ["ac", "chassis"]
[[part]]
ref = "D1"
kind = "diode"
type = "1N4007"
joins = { anode = "ac", cathode = "ht" }
[[part]]
ref = "C1"
kind = "electrolytic"
value = "47u"
volts = "450 V"
joins = ["ht", "chassis"]
[[part]]
ref = "R1"
kind = "resistor"
value = "47k"
power = "3 W"
joins = ["ht", "mid"]
[[part]]
ref = "R2"
kind = "resistor"
value = "47k"
power = "1 W"
joins = ["mid", "chassis"]
[[stage]]
key = "cold"
title = "Cold"
gate = true
[[stage.check]]
key = "ohms"
title = "Ohms"
measure = "resistance"
red = "ht"
expected = "94k"
band = "10%"
[[stage]]
key = "hot"
title = "Hot"
power = "on"
cautions = ["lethal-voltage"]
[[stage.step]]
key = "look"
text = "Look."
[[stage.check]]
key = "ht"
title = "B+"
measure = "dc volts"
red = "ht"
expected = "322 V"
band = "8%"
[[stage.check]]
key = "mid"
title = "Middle"
measure = "dc volts"
red = "mid"
expected = "161 V"
band = "8%"
"""


def draft_of(text=GUIDE, computed=True):
    draft = store_guide(read_guide(text.encode()), factories.make_designer())
    if computed:
        compute_figures(draft, 200)
    return draft


def serious(draft):
    return [o.code for o in objections_to(draft) if o.level is Level.SERIOUS]


@pytest.mark.lengthy
def test_a_guide_that_nothing_stands_against_is_issued_without_a_reason():
    draft = draft_of()
    assert serious(draft) == []
    assert issue_reviewed(draft).issued_over is None


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("gate = true", "gate = false", "no-gate"),
        ('[[stage.check]]\nkey = "ohms"', '[[stage.check]]\noptional = true\nkey = "ohms"', "empty-gate"),
        ('key = "look"', 'key = "look"\nparts = ["C1"]', "unmarked-hands-in"),
        ('expected = "322 V"', 'expected = "350 V"', "contradicted"),
        ('expected = "161 V"\nband = "8%"', 'low = "10 V"\nhigh = "20 V"', "outside-band"),
        ('expected = "322 V"\nband = "8%"', 'low = "300 V"\nhigh = "460 V"', "band-past-rating"),
        ('power = "1 W"', 'power = "0.1 W"', "over-limit"),
        ('red = "mid"', 'red = "=the joint of R1 and R2"', "no-stop"),
        ('red = "mid"', 'stop_below = "100 V"\nred = "=the joint of R1 and R2"', "no-upper-stop"),
    ],
)
def test_what_a_designer_must_answer_for_is_an_objection(old, new, code):
    draft = draft_of(GUIDE.replace(old, new, 1))
    assert code in serious(draft)
    for objection in objections_to(draft):
        assert objection_sentence(objection.code, objection.params)
    with pytest.raises(ReasonNeeded):
        issue_reviewed(draft, "  ")
    issued = issue_reviewed(draft, "The prototype was built so.")
    assert issued.issued_over["reason"] == "The prototype was built so."
    assert code in [o["code"] for o in issued.issued_over["objections"]]


def test_a_circuit_that_is_not_computed_is_an_objection():
    assert "not-computed" in serious(draft_of(computed=False))


@pytest.mark.lengthy
def test_hints_that_lead_in_a_circle_are_an_objection_told_once():
    hint = '[[stage.check.hint]]\nwhen = "low"\ntext = "See there."\nnext = "{}"\n'
    text = GUIDE.replace('[[stage.check]]\nkey = "mid"', hint.format("mid") + '[[stage.check]]\nkey = "mid"')
    assert serious(draft_of(text)) == []
    objections = objections_to(draft_of(text.replace("objections", "loop") + hint.format("ht")))
    assert [o.params["checks"] for o in objections if o.code == "hint-loop"] == [["B+", "Middle"]]


def test_rows_that_the_import_would_refuse_are_objections_even_of_an_older_draft():
    draft = draft_of()
    Check.objects.filter(stage__revision=draft, key="mid").update(red="V1.12")
    assert "rule" in serious(draft)


@pytest.mark.lengthy
def test_a_check_on_the_mains_is_not_issued_for_any_reason():
    draft = draft_of()
    Check.objects.filter(stage__revision=draft, key="mid").update(red="mains.live")
    with pytest.raises(NotReady):
        issue_reviewed(draft, "I know what I do.")
    with pytest.raises(NotReady):
        issue(draft)
    assert Revision.objects.get(pk=draft.pk).is_draft


@pytest.mark.lengthy
def test_the_reason_is_frozen_with_the_revision_and_not_taken_to_the_next():
    draft = draft_of(GUIDE.replace("gate = true", "gate = false"))
    issued = issue_reviewed(draft, "One evening's work.")
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic():
        Revision.objects.filter(pk=issued.pk).update(issued_over=None)
    assert clone(issued).issued_over is None


@pytest.mark.lengthy
def test_the_page_lists_the_objections_and_asks_for_the_reason(client):
    draft = draft_of(GUIDE.replace("gate = true", "gate = false"))
    client.force_login(draft.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    page, address = (reverse(f"guides:{name}", args=[draft.kit.key, "A"]) for name in ("revision", "issue"))
    text = client.get(page).content.decode()
    assert 'name="reason"' in text and "no gate before the power of “Hot”" in text
    client.post(address)
    assert Revision.objects.get(pk=draft.pk).is_draft
    client.post(address, {"reason": "A bench model."})
    assert not Revision.objects.get(pk=draft.pk).is_draft
    assert "A bench model." in client.get(page).content.decode()


@pytest.mark.lengthy
def test_a_powered_check_without_a_stop_limit_takes_it_from_the_parts():
    """C1 is rated 450 V; R2, 1 W at 47 kΩ, bears √(1 W × 47 kΩ) = 217 V."""
    revision = issue(draft_of())
    stops = {c.key: band_for(c).stop_above for s in load_guide(revision).stages for c in s.checks.all()}
    assert stops == {"ohms": None, "ht": 450.0, "mid": pytest.approx(216.8, abs=0.1)}
    again = {c.key: band_for(c).stop_above for c in Check.objects.filter(stage__revision=revision)}
    assert again == stops


@pytest.mark.lengthy
def test_a_rating_that_stops_nobody_for_want_of_a_figure_is_not_called_missing():
    """C1 lies between the probes and is rated; but without the model's figure no reading there is judged."""
    draft = draft_of(GUIDE.replace('expected = "322 V"\nband = "8%"', 'expected = "model"'), computed=False)
    (result,) = [o for o in objections_to(draft) if o.code in ("no-stop", "stop-unused")]
    assert (result.code, result.level, result.params["ref"]) == ("stop-unused", Level.SERIOUS, "C1")
    assert objection_sentence(result.code, result.params)
    compute_figures(draft, 200)
    assert not {"no-stop", "stop-unused"} & set(serious(draft))


SIGNALS = (
    ("ac volts", "6 V", (30.0, None)),
    ("ac volts", "18 V", (30.0, None)),
    ("dc volts", "0 V", (60.0, -60.0)),
    ("dc volts", "-15 V", (60.0, -60.0)),
    ("ac volts", "25 V", (None, None)),
    ("dc volts", "30 V", (None, None)),
)


@pytest.mark.lengthy
@pytest.mark.parametrize(("measure", "expected", "stops"), SIGNALS)
def test_a_live_signal_point_whose_parts_say_nothing_stops_at_the_touch_limit(measure, expected, stops):
    """IEC 62368-1:2018, table 4: ES1 ends at 30 V rms and 60 V DC. B+ or mains at an output is no reading to go on
    from."""
    band = 'low = "-50 mV"\nhigh = "50 mV"' if expected == "0 V" else f'expected = "{expected}"\nband = "10%"'
    old = 'measure = "dc volts"\nred = "mid"\nexpected = "161 V"\nband = "8%"'
    assert old in GUIDE
    text = GUIDE.replace(old, f'measure = "{measure}"\nred = "=the output jack"\n{band}')
    draft = draft_of(text)
    result = band_for(Check.objects.get(stage__revision=draft, key="mid"))
    assert (result.stop_above, result.stop_below) == stops
    codes = [objection.code for objection in objections_to(draft)]
    assert ("touch-stop" in codes, "no-stop" in codes) == (stops[0] is not None, stops[0] is None)


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("figures", "is_open"),
    [
        ('low = "-34 V"\nhigh = "-28 V"', False),  # a negative supply, stopped with the probes swapped too
        ('low = "-30 V"\nhigh = "30 V"', False),
        ('at_least = "-34 V"', False),  # what may be touched stops it above
        ('low = "20 V"\nhigh = "30 V"', True),
    ],
)
def test_a_lower_stop_limit_alone_must_stop_what_rises_too(figures, is_open):
    old = 'red = "mid"\nexpected = "161 V"\nband = "8%"'
    assert old in GUIDE
    draft = draft_of(GUIDE.replace(old, f'red = "=the joint"\n{figures}\nstop_below = "-50 V"'))
    assert ("no-upper-stop" in serious(draft)) == is_open


def test_a_stop_limit_of_the_designers_own_is_left_alone():
    draft = draft_of(
        GUIDE.replace('red = "ht"\nexpected = "322 V"', 'red = "ht"\nstop_above = "400 V"\nexpected = "322 V"')
    )
    assert band_for(Check.objects.get(stage__revision=draft, key="ht")).stop_above == 400


@pytest.mark.lengthy
def test_a_stop_limit_on_a_negative_supply_lies_below():
    text = GUIDE.replace('cathode = "ht"', 'cathode = "ac"').replace('anode = "ac"', 'anode = "ht"')
    text = text.replace('expected = "322 V"', 'expected = "-322 V"').replace(
        'expected = "161 V"', 'expected = "-161 V"'
    )
    text = text.replace('joins = ["ht", "chassis"]', 'joins = ["chassis", "ht"]')
    draft = draft_of(text)
    band = band_for(Check.objects.get(stage__revision=draft, key="ht"))
    assert (band.stop_below, band.stop_above) == (-450, None)


@pytest.mark.lengthy
@pytest.mark.parametrize("stop", ["9 ohm", "350 mA", "OL"])
def test_a_stop_limit_that_cannot_be_read_breaks_no_page_and_lets_no_reading_pass(client, stop):
    """Rows written before the rules were strict."""
    draft = draft_of(GUIDE.replace('expected = "322 V"\nband = "8%"', 'expected = "model"'))
    Check.objects.filter(stage__revision=draft, key="ht").update(stop_above=stop)
    issued = Revision.objects.get(pk=draft.pk)
    Revision.objects.filter(pk=draft.pk).update(
        state="issued", issued_at="2026-01-01T00:00Z", figures=compute_figures(draft, 200)
    )
    issued.refresh_from_db()
    assert band_for(Check.objects.get(stage__revision=issued, key="ht")) is None
    build = factories.make_build(revision=issued)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    with pytest.raises(ChecksError):
        take_reading(build, Check.objects.get(stage__revision=issued, key="ht"), "322", by=build.builder)
    client.force_login(issued.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    for name in ("review:findings", "review:coverage", "review:release", "review:dashboard", "reports:summary"):
        assert client.get(reverse(name, args=[issued.kit.key, "A"])).status_code == 200, name


@pytest.mark.lengthy
@pytest.mark.parametrize("name", ["five-watt", "line-preamp"])
def test_nothing_but_figures_stands_against_the_demonstration_guides(name):
    draft = store_guide(read_guide(demo_zip(name)), factories.make_designer())
    compute_figures(draft, 200)
    assert set(serious(draft)) <= {"contradicted"}
