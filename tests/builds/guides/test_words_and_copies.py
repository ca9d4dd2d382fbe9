"""Find and replace, and copying between kits: what was shown is done, and no rule is left out."""

import io
import re

import pytest
from django.core.files.base import ContentFile
from django.urls import reverse
from PIL import Image

from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.models import Picture
from builds.guides.views import bulk_edits
from tests import factories

pytestmark = pytest.mark.django_db
STAGES = [
    {
        "key": "supply",
        "title": "Supply",
        "intro": "The can C1 holds charge.",
        "step": [{"key": "c1", "text": "Fit the can.", "parts": ["C1"]}, {"key": "c2", "text": "Fit the CAN again."}],
        "check": [
            {"key": "can", "title": "Across the can", "measure": "resistance", "red": "=the can", "expected": "1k"}
            | {"band": "5%", "hint": [{"when": "low", "text": "The can leaks."}]}
        ],
    }
]
PARTS = [{"ref": "C1", "kind": "electrolytic", "value": "47u", "note": "can"}]


@pytest.fixture
def draft():
    revision = factories.make_revision(issued=False, stages=0, steps=0, checks=0)
    apply_tables(revision, as_tables(revision) | {"part": PARTS, "stage": STAGES})
    return revision


@pytest.fixture
def designer(client, draft):
    client.force_login(draft.kit.designers.first())
    return client


def url(draft, name):
    return reverse(f"guides:{name}", args=[draft.kit.key, draft.letter])


def replace(designer, draft, **text):
    """Replaced as the page shows it first."""
    version = designer.get(url(draft, "replace"), text).context["version"]
    return designer.post(url(draft, "replace"), text | {"version": version})


def test_what_would_be_replaced_is_shown_first(designer, draft):
    before = as_tables(draft)
    page = designer.get(url(draft, "replace"), {"find": "can", "put": "capacitor"})
    assert len(page.context["differences"]) == 6 and as_tables(draft) == before


def test_many_texts_are_shown_on_pages_and_replaced_all_at_once(designer, draft, monkeypatch):
    monkeypatch.setattr(bulk_edits, "ON_A_PAGE", 4)
    first = designer.get(url(draft, "replace"), {"find": "CAN", "put": "tin", "any_case": "1"})
    whole = first.context["pages"].total
    assert len(first.context["differences"]) == 4 < whole and f"Replace in {whole} texts" in first.content.decode()
    second = designer.get(url(draft, "replace") + first.context["pages"].after)
    assert len(second.context["differences"]) == whole - 4 and second.context["version"] == first.context["version"]
    assert replace(designer, draft, find="CAN", put="tin", any_case="1").status_code == 302
    assert [step["text"] for step in as_tables(draft)["stage"][0]["step"]] == ["Fit the tin.", "Fit the tin again."]


def test_words_are_replaced_and_keys_and_figures_stay(designer, draft):
    replace(designer, draft, find="can", put="capacitor")
    stage = as_tables(draft)["stage"][0]
    assert stage["check"][0]["key"] == "can" and stage["check"][0]["red"] == "=the capacitor"
    assert stage["check"][0]["hint"][0]["text"] == "The capacitor leaks."
    assert [step["text"] for step in stage["step"]] == ["Fit the capacitor.", "Fit the CAN again."]
    assert draft.edits.count() == 1


def test_capitals_are_alike_where_it_is_asked(designer, draft):
    replace(designer, draft, find="can", put="tin", any_case="1")
    assert as_tables(draft)["stage"][0]["step"][1]["text"] == "Fit the tin again."


@pytest.mark.parametrize(("find", "put"), [("Supply", ""), ("the can", "mains live"), ("Supply", "x" * 200)])
def test_a_replacement_that_breaks_a_rule_changes_nothing(designer, draft, find, put):
    before = as_tables(draft)
    assert replace(designer, draft, find=find, put=put).status_code == 422
    assert as_tables(draft) == before


@pytest.fixture
def other(draft):
    """A second kit of the same designer, with a picture."""
    kit = factories.make_kit(designer=draft.kit.designers.first())
    revision = factories.make_revision(kit=kit, issued=False, stages=0, steps=0, checks=0)
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "red").save(out, "PNG")
    picture = Picture(revision=revision, name="can.png", width=60, height=40)
    picture.file.save("can.png", ContentFile(out.getvalue()))
    stages = [STAGES[0] | {"step": [STAGES[0]["step"][0] | {"picture": "can.png"}]}]
    apply_tables(revision, as_tables(revision) | {"part": PARTS, "stage": stages})
    return revision


def copy(designer, draft, other, *names, target=""):
    return designer.post(url(draft, "copy-from"), {"source": other.pk, "copy": names, "target": target})


def test_a_stage_is_copied_with_its_picture_under_a_key_of_its_own(designer, draft, other):
    assert copy(designer, draft, other, "stage:supply").status_code == 302
    assert [stage.key for stage in draft.stages.all()] == ["supply", "supply-2"]
    assert draft.stages.last().steps.first().picture == "can.png" and draft.pictures.count() == 1


def test_a_step_and_a_check_go_into_the_chosen_stage(designer, draft, other):
    copy(designer, draft, other, "step:supply/c1", "check:supply/can", target="supply")
    stage = draft.stages.get()
    assert [step.key for step in stage.steps.all()] == ["c1", "c2", "c1-2"]
    assert [check.key for check in stage.checks.all()] == ["can", "can-2"]


def test_a_part_that_is_there_already_is_not_overwritten(designer, draft, other):
    other.parts.update(value="1u")
    copy(designer, draft, other, "part:C1")
    assert draft.parts.get().value == "47u"


def test_a_step_without_its_part_is_refused(designer, draft, other):
    draft.stages.all().delete()
    draft.parts.all().delete()
    assert copy(designer, draft, other, "stage:supply").status_code == 422
    assert not draft.stages.exists() and not draft.pictures.exists()


def test_a_stage_brings_the_parts_that_it_names_when_asked(designer, draft, other):
    draft.stages.all().delete()
    draft.parts.all().delete()
    asked = {"source": other.pk, "copy": ["stage:supply"], "with_parts": "1"}
    assert designer.post(url(draft, "copy-from"), asked).status_code == 302
    named = {ref for step in draft.stages.get().steps.all() for ref in step.parts}
    assert named and {part.ref for part in draft.parts.all()} == named


def test_what_was_ticked_stays_ticked_when_nothing_could_be_copied(designer, draft, other):
    draft.parts.all().delete()
    page = copy(designer, draft, other, "step:supply/c1", target="supply")
    assert page.status_code == 422
    ticked = re.findall(r'name="copy"\s+value="([^"]+)"\s+checked', page.content.decode())
    assert ticked == ["step:supply/c1"]
    assert b'name="with_parts" value="1">' in page.content


def test_nothing_is_copied_from_a_guide_of_somebody_else(designer, draft):
    stranger = factories.make_revision(issued=False)
    assert copy(designer, draft, stranger, "stage:stage-1").status_code == 404


@pytest.mark.parametrize("source", ("²", "٣", "9" * 5000, "-1", "0"))
def test_what_is_no_number_of_a_guide_is_not_found(designer, draft, source):
    assert designer.get(url(draft, "copy-from"), {"source": source}).status_code == 404
