"""The editor refuses what the guide file refuses, and the other way round."""

import pytest
import tomlkit
from django.urls import reverse

from builds.guides.guide_file import GuideErrors, read_guide, store_guide
from builds.guides.models import Check, Point
from tests import factories
from tests.builds.guides.part_fields import posted
from tests.builds.guides.sent_form import version_at

pytestmark = pytest.mark.django_db

GUIDE = """format = 1
[kit]
key = "one-set"
name = "One set of rules"
revision = "A"
[[point]]
node = "tap"
words = "the tag beside C1"
[[part]]
ref = "T1"
kind = "mains transformer"
[[part.winding]]
name = "primary"
volts = "230 V"
joins = ["mains.live", "mains.neutral"]
[[part.winding]]
name = "ht"
volts = "250 V"
joins = ["ht", "chassis"]
[[part]]
ref = "F1"
kind = "fuse"
joins = ["mains.inlet", "mains.live"]
[[part]]
ref = "V1"
kind = "triode"
base = "B9A"
pins = { anode = "1", grid = "2", cathode = "3" }
joins = { anode = "ht", grid = "grid", cathode = "cathode" }
[[part]]
ref = "R1"
kind = "resistor"
value = "1k5"
joins = ["cathode", "chassis"]
[[part]]
ref = "C1"
kind = "capacitor"
value = "25u"
joins = ["cathode", "chassis"]
[[stage]]
key = "power"
title = "Power"
power = "on"
cautions = ["lethal-voltage"]
"""
CHECK = {"key": "look", "title": "Look", "measure": "dc volts", "red": "V1.3", "expected": "8 V", "band": "10%"}
COLD = CHECK | {"measure": "resistance", "expected": "1k5"}


def store(check=None):
    data = tomlkit.parse(GUIDE).unwrap()
    data["stage"][0]["check"] = [CHECK | {"key": "other"}, *([check] if check else [])]
    read = read_guide(tomlkit.dumps(data).encode())
    designer = factories.make_designer()
    return store_guide(read, designer), designer


def refused_by_file(check):
    with pytest.raises(GuideErrors) as caught:
        store(check)
    return {trouble.key.rpartition(" ")[2] for trouble in caught.value.problems}


def refused_by_editor(client, check):
    draft, designer = store()
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    hints = "\n".join(f"{h['when']}, then {h['next']}: {h['text']}" for h in check.get("hint", []))
    posted = {"black": "chassis", "figure_from": "designer", "hints": hints} | {
        key: value for key, value in check.items() if key != "hint"
    }
    address = reverse("guides:add-inner", args=[draft.kit.key, draft.letter, "power", "check"])
    answer = client.post(address, posted)
    assert answer.status_code == 422 and not Check.objects.filter(key="look").exists()
    return {"hint" if key == "hints" else key for key in answer.context["form"].errors}


REFUSED = [
    (CHECK | {"red": "V1.12"}, "red"),
    (CHECK | {"red": "C2 +"}, "red"),
    (CHECK | {"red": "nowhere"}, "red"),
    (CHECK | {"red": "chassis", "expected": "160 V"}, "black"),
    (CHECK | {"red": "V1.3", "black": "cathode"}, "black"),
    (CHECK | {"hint": [{"when": "low", "text": "See there.", "next": "gone"}]}, "hint"),
    (CHECK | {"hint": [{"when": "low", "text": "See there.", "next": "look"}]}, "hint"),
    (CHECK | {"red": "mains.live"}, "red"),
    (CHECK | {"black": "mains.inlet"}, "black"),
    (CHECK | {"red": "=the live pin of the inlet"}, "red"),
    (CHECK | {"red": "=F1, upper tag"}, "red"),
    (CHECK | {"expected": "model", "band": "", "stop_above": "9 ohm"}, "stop_above"),
    (CHECK | {"expected": "model", "band": "", "stop_above": "350 mA"}, "stop_above"),
    (CHECK | {"expected": "model", "band": "", "stop_below": "OL"}, "stop_below"),
    (CHECK | {"expected": "model", "band": "8 ohm"}, "band"),
    (CHECK | {"expected": "model", "band": "much"}, "band"),
    (CHECK | {"band": "-5 V"}, "band"),
    (CHECK | {"band": "0%"}, "band"),
    (CHECK | {"band": "0 V"}, "band"),
    (CHECK | {"expected": "", "band": "", "low": "5 V", "high": "5 V"}, "high"),
    (CHECK | {"stop_above": "100 V", "stop_below": "200 V", "expected": "model", "band": ""}, "stop_above"),
    (CHECK | {"through": "R1"}, "through"),
    (CHECK | {"measure": "current", "expected": "5 mA", "through": "C1"}, "through"),
    (CHECK | {"measure": "current", "expected": "5 mA", "through": "R1", "red": "V1.2"}, "through"),
    (COLD | {"expected": "-1k5"}, "expected"),
    (COLD | {"expected": "", "band": "", "at_most": "0"}, "at_most"),
    (CHECK | {"prototype": "OL"}, "prototype"),
]


@pytest.mark.parametrize(("check", "key"), REFUSED)
def test_the_file_and_the_editor_refuse_the_same_check(client, check, key):
    check = {name: value for name, value in check.items() if value != ""}
    assert key in refused_by_file(check)
    assert key in refused_by_editor(client, check)


def test_the_check_these_vary_is_taken_by_both(client):
    draft, designer = store(CHECK)
    assert draft.stages.get().checks.count() == 2
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("guides:add-inner", args=[draft.kit.key, draft.letter, "power", "check"])
    posted = CHECK | {"key": "more", "black": "chassis", "figure_from": "designer"}
    assert client.post(address, posted).status_code == 302


@pytest.mark.parametrize("tolerance", ["0%", "0", "-100/+5%", "-5%"])
def test_a_tolerance_that_no_part_has_is_refused(tolerance):
    text = GUIDE.replace('value = "1k5"', f'value = "1k5"\ntolerance = "{tolerance}"')
    with pytest.raises(GuideErrors) as caught:
        read_guide(text.encode())
    assert [t.key for t in caught.value.problems] == ["part R1 tolerance"]


@pytest.fixture
def around(client):
    """A draft with a check of the point "tap", and its designer logged in."""
    draft, designer = store(CHECK | {"red": "tap"})
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return draft


def edit(client, draft, table, row, **data):
    address = reverse("guides:edit", args=[draft.kit.key, draft.letter, table, row.pk])
    return client.post(address, data | version_at(client, address))


def test_words_of_a_point_do_not_lead_a_check_of_it_to_the_mains(client, around):
    point = Point.objects.get(revision=around)
    assert edit(client, around, "point", point, node="tap", words="the live pin of the inlet").status_code == 422
    assert edit(client, around, "point", point, node="tap", words="the tag beside C2").status_code == 302


@pytest.mark.lengthy
def test_a_part_does_not_join_a_probed_node_to_the_mains(client, around):
    part = around.parts.get(ref="F1")
    data = {"ref": "F1", "kind": "fuse", "quantity": "1"}
    assert edit(client, around, "part", part, **posted('joins = ["mains.inlet", "tap"]', **data)).status_code == 422
    assert edit(client, around, "part", part, **posted('joins = ["mains.inlet", "b"]', **data)).status_code == 302


@pytest.mark.lengthy
def test_a_cold_check_of_the_plug_does_not_come_under_power(client):
    plug = COLD | {"red": "=the live pin of the plug, pulled out of the wall"}
    data = tomlkit.parse(GUIDE).unwrap()
    data["stage"] = [{"key": "cold", "title": "Cold", "check": [plug]}]
    designer = factories.make_designer()
    draft = store_guide(read_guide(tomlkit.dumps(data).encode()), designer)
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    stage = draft.stages.get()
    row = {"key": "cold", "title": "Cold", "minutes": "5", "cautions": ["lethal-voltage"]}
    assert edit(client, draft, "stage", stage, **row, power="on").status_code == 422
    assert edit(client, draft, "stage", stage, **row, power="off").status_code == 302
