"""Controls that a stage sets: in the guide file and back, in the editor, in the circuit's figures, and in words on the
bench."""

import re

import pytest
from django.db import IntegrityError, connection, transaction
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from builds.guides import revisions
from builds.guides.circuit.compute import compute
from builds.guides.circuit.content import build_content, make_key
from builds.guides.circuit.problems import list_problems
from builds.guides.control_settings import setting_label
from builds.guides.editor.setting_rows import SettingsField
from builds.guides.feeding import setting_sentences
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import GuideErrors, read_guide, store_guide, write_guide
from builds.guides.models import Stage
from tests import factories
from tests.builds.guides.sent_form import version_at

GUIDE = """format = 1
[kit]
key = "volume"
name = "A volume control"
revision = "A"
[[part]]
ref = "RV1"
kind = "potentiometer"
value = "100k"
tolerance = "20%"
note = "Volume: one half"
joins = { top = "in", wiper = "out", bottom = "chassis" }
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
joins = ["out", "grid"]
[[part]]
ref = "J1"
kind = "connector"
joins = { tip = "in", sleeve = "chassis", ring = "grid" }
[[stage]]
key = "ohms"
title = "Ohms"
settings = { RV1 = 1.0 }
[[stage.check]]
key = "grid"
title = "Grid"
measure = "resistance"
red = "grid"
expected = "model"
"""


@pytest.fixture
def draft(db):
    return store_guide(read_guide(GUIDE.encode()), factories.make_designer())


@pytest.mark.parametrize(("set_", "ohms"), [("1.0", 101e3), ("0", 1e3), ("0.25", 1e3 + 25e3 * 1.0)])
def test_a_reading_is_computed_with_the_control_as_it_is_set(db, set_, ohms):
    """Fully up the wiper has the whole track to chassis, fully down none of it, and a quarter below it at a quarter."""
    text = GUIDE.replace("RV1 = 1.0", f"RV1 = {set_}")
    draft = store_guide(read_guide(text.encode()), factories.make_designer())
    figures = compute(build_content(draft, load_guide(draft)), samples=200)["checks"]["ohms/grid"]
    assert figures["value"] == pytest.approx(ohms)


def test_settings_change_the_hash_and_a_guide_without_them_keeps_its_own(draft):
    with_ = make_key(build_content(draft, load_guide(draft)))
    draft.stages.update(settings=None)
    without = build_content(draft, load_guide(draft))
    assert make_key(without) != with_ and "settings" not in without["stages"][0]


def test_control_settings_are_exported_imported_and_cloned(draft):
    assert read_guide(write_guide(draft).encode())["stage"][0]["settings"] == {"RV1": 1.0}
    assert revisions.clone(draft, "B").stages.get().settings == {"RV1": 1.0}


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("{ RV9 = 1.0 }", "stage ohms settings: "),
        ("{ R1 = 1.0 }", "stage ohms settings: "),
        ("{ RV1 = 1.5 }", "Accepted: 0.0"),
        ('{ RV1 = "up" }', "Accepted: 0.0"),
    ],
)
def test_what_is_no_control_or_no_share_is_refused_with_its_line(wrong, said):
    with pytest.raises(GuideErrors, match=said) as caught:
        read_guide(GUIDE.replace("{ RV1 = 1.0 }", wrong).encode())
    assert caught.value.problems[0].line == GUIDE[: GUIDE.index("settings =")].count("\n") + 1


@pytest.mark.lengthy
@given(st.dictionaries(st.from_regex(r"RV[0-9]{1,2}", fullmatch=True), st.integers(0, 100).map(lambda n: n / 100)))
def test_what_the_editor_shows_is_read_back_as_it_was(settings):
    field = SettingsField()
    assert (field.clean(field.prepare_value(settings)) or {}) == settings


@pytest.mark.lengthy
def test_the_editor_saves_control_settings_and_refuses_wrong_ones(client, draft):
    client.force_login(draft.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    page = reverse("guides:edit", args=["volume", "A", "stage", draft.stages.get().pk])
    assert _cells(client.get(page)) == ["RV1", "1"]
    form = {"key": "ohms", "title": "Ohms", "power": "off", "minutes": "0"}
    assert client.post(page, form | version_at(client, page) | _rows(("RV1", "0,5"))).status_code in (302, 303)
    assert draft.stages.get().settings == {"RV1": 0.5}
    for wrong in (("RV1", "up"), ("R1", "1"), ("RV1", "3"), ("RV1", ""), ("", "1"), ("RV1", "0_1"), ("RV1", "nan")):
        refused = client.post(page, form | version_at(client, page) | _rows(wrong))
        assert refused.status_code == 422 and _cells(refused) == [*wrong]
    assert draft.stages.get().settings == {"RV1": 0.5}
    client.post(page, form | version_at(client, page) | _rows(("", "")))
    assert not draft.stages.get().settings


def test_every_wrong_row_of_the_controls_is_named_and_none_is_lost(client, draft):
    client.force_login(draft.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    page = reverse("guides:edit", args=["volume", "A", "stage", draft.stages.get().pk])
    form = {"key": "ohms", "title": "Ohms", "power": "off", "minutes": "0"}
    refused = client.post(page, form | version_at(client, page) | _rows(("RV1", "1"), ("RV7", "half"), ("RV1", "0")))
    assert refused.status_code == 422 and _cells(refused) == ["RV1", "1", "RV7", "half", "RV1", "0"]
    assert len(refused.context["form"].errors["settings"]) == 2


def _rows(*rows) -> dict[str, str]:
    names = ("control", "position")
    return {f"settings-{n}-{name}": text for n, row in enumerate(rows) for name, text in zip(names, row, strict=True)}


def _cells(page) -> list[str]:
    """What the rows of the controls say, spare rows left out."""
    matches = re.findall(r'name="settings-([0-9]+)-[a-z]+"\s+value="([^"]*)"', page.content.decode())
    said = {number for number, text in matches if text}
    return [text for number, text in matches if number in said]


def test_a_control_that_is_gone_is_told_on_the_draft(draft):
    assert list_problems(load_guide(draft)) == []
    draft.parts.filter(ref="RV1").update(ref="RV2")
    (problem,) = list_problems(load_guide(draft))
    assert problem.message == "Stage ohms: settings RV1 is not a potentiometer of the parts list."


def test_a_builders_stage_shows_how_to_set_the_controls(draft):
    guide = load_guide(draft)
    assert setting_sentences(guide.stages[0], parts=guide.parts) == ["Turn RV1 (Volume) fully up."]
    assert setting_label("RV1", 0.0) == "Turn RV1 fully down."
    assert "30 % of its track" in setting_label("RV1", 0.3)


def test_an_issued_stages_settings_are_frozen_with_it(db):
    revision = factories.make_revision()
    with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
        Stage.objects.filter(revision=revision).update(settings={"RV1": 0.0})
    assert connection.vendor in ("sqlite", "postgresql")
