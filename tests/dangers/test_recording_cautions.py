"""Who records a live amplifier reads, beside every step of it, how not to be hurt and not to harm it: load with its
ohms and watts, divider, isolation and earth loops, never a live part, never without a load."""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.readings.taking import take_reading
from builds.bench.recordings.cautions import cautions_beside
from builds.bench.recordings.plans import list_wanted_signals
from builds.bench.recordings.set_up import SetUp, plan_set_up
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Check, Revision, Stage
from builds.reports.guide.content import gather
from builds.reports.worksheet.gather import worksheet
from tests import factories
from tests.builds.bench.test_figures import GUIDE

pytestmark = pytest.mark.django_db
MUST = ("8.00 Ω", "W", "without a load", "live part", "isolating", "earth", "unplug", "divider")


@pytest.fixture
def build(client):
    revision = store_guide(read_guide(GUIDE), factories.make_designer())
    Revision.objects.filter(pk=revision.pk).update(state=Revision.State.ISSUED, issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    acknowledge(open_sitting(build), build.revision.stages.get(), None)
    return build


def test_every_signal_of_the_page_has_them_beside_it(client, build):
    text = client.get(reverse("bench:recordings", args=[build.pk, "sign-off"])).content.decode()
    text = text.replace("\N{NO-BREAK SPACE}", " ")
    cards = text.split('class="card stack signal"')[1:]
    assert len(cards) == 2
    for card in cards:
        assert [word for word in MUST if word not in card] == []


def test_the_printed_guide_and_the_worksheet_have_them(build):
    (stage,) = gather(build.revision).stages
    printed = " ".join(f"{title} {text}" for title, text in stage.cautions)
    printed = printed.replace("\N{NO-BREAK SPACE}", " ")
    assert [word for word in MUST if word not in printed] == []
    recorded = [line for kind, lines in stage.items if kind == "checks" for line in lines if line.note]
    assert len(recorded) == 3  # every recorded check points to them
    (on_sheet,) = worksheet(build, None, lambda path: path)
    text = " ".join(str(part) for caution in on_sheet.cautions for part in caution)
    text = text.replace("\N{NO-BREAK SPACE}", " ")
    assert [word for word in MUST if word not in text] == []


def test_at_line_level_there_is_no_load_to_forget():
    result = cautions_beside(SetUp(None, 0.0, 0.0, 1000.0))
    assert not any("without a load" in text for text in result) and any("live part" in text for text in result)


def wired(*parts: str, load: str = "", key: str = "kit"):
    """What a stage that records hum is wired with, in a kit of these parts that states no output power."""
    rows = GUIDE.decode().split("[[stage]]")[0].replace("tone-test", key) + "".join(parts)
    check = f"""[[stage]]
key = "sign-off"
title = "Sign-off"
[[stage.check]]
key = "hum"
title = "Hum"
measure = "hum volts"
red = "=the load"
at_most = "3 mV"
recording = {{ signal = "silence"{load} }}
"""
    revision = store_guide(read_guide((rows + check).encode()), factories.make_designer())
    return plan_set_up(revision, list_wanted_signals(revision.stages.get()))


IRON = """[[part]]
ref = "T2"
kind = "output transformer"
[[part.winding]]
name = "primary"
ohms = "90R"
impedance = "3k4"
joins = ["ht", "a"]
[[part.winding]]
name = "secondary"
ohms = "0.4R"
impedance = "4R"
joins = ["out", "chassis"]
"""
VALVE = """[[part]]
ref = "{ref}"
kind = "pentode"
type = "EL34"
base = "octal"
pins = {{ anode = "3", screen = "4", grid = "5", cathode = "8" }}
joins = {{ anode = "a", screen = "ht", grid = "g", cathode = "k" }}
"""


def test_an_output_transformer_is_never_recorded_without_a_load_whatever_the_guide_leaves_out():
    found = wired(IRON)
    assert found.load == 4 and found.assumed and any("without a load" in text for text in cautions_beside(found))
    assert wired(IRON.replace('impedance = "4R"\n', ""), key="other").load == 8
    assert wired(key="third").load is None


def test_where_no_power_is_stated_the_load_carries_what_the_output_valves_could_give():
    """EL34: 25 W of anode dissipation (Philips data sheet, from memory); two give some 35 W to 50 W."""
    found = wired(IRON, VALVE.format(ref="V1"), VALVE.format(ref="V2"))
    assert found.assumed == 50 and found.watts == 100
    assert wired(load=', load = "8R"', key="other").assumed == 10


@pytest.mark.lengthy
def test_no_recording_is_asked_for_or_taken_beside_a_reading_that_may_mean_an_overload(client):
    revision = store_guide(read_guide(GUIDE), factories.make_designer())
    stage = revision.stages.get()
    at = {"stage": stage, "position": 99, "key": "supply", "title": "The supply", "measure": "dc volts", "red": "ht"}
    Check.objects.create(**at, expected="300 V", band="10%", stop_above="400 V")
    Stage.objects.filter(pk=stage.pk).update(power="on")
    Revision.objects.filter(pk=revision.pk).update(state=Revision.State.ISSUED, issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    acknowledge(open_sitting(build), build.revision.stages.get(), 230.0)
    page = reverse("bench:recordings", args=[build.pk, "sign-off"])
    assert "can mean that a part is overloaded" not in client.get(page).content.decode()
    supply = Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key="supply")
    take_reading(build, supply, "210 V", by=build.builder, mains_volts=230.0)
    said = client.get(page).content.decode()
    assert "Switch off now. Unplug." in said and "can mean that a part is overloaded" in said
    answer = client.post(reverse("bench:add-recording", args=[build.pk, "sign-off", 1]), {"entry_key": str(uuid4())})
    assert answer.status_code == 422 and "Measure nothing until" in answer.content.decode()
