"""The designer's search of a guide lands in the editor."""

import pytest
from django.urls import reverse

from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from tests import factories

pytestmark = pytest.mark.django_db
PART = {"ref": "R10", "kind": "resistor", "value": "1k5", "tolerance": "5%", "joins": ["k", "chassis"]}


@pytest.fixture
def draft():
    revision = factories.make_revision(issued=False, stages=0)
    steps = [{"key": "fit", "text": "Solder R10 flat to the board.", "parts": ["R10"]}]
    checks = [{"key": "k", "title": "Cathode of V1", "measure": "resistance", "red": "k", "expected": "1k5"}]
    stage = {"key": "board", "title": "Board", "step": steps, "check": checks}
    apply_tables(revision, as_tables(revision) | {"part": [PART], "stage": [stage]})
    return revision


def search(client, draft, query):
    return client.get(reverse("guides:find", args=[draft.kit.key, draft.letter]), {"q": query})


@pytest.mark.parametrize(
    ("query", "result"),
    [
        ("R10", {"step", "part"}),
        ("solder flat", {"step"}),
        ("cathode", {"check"}),
        ("1.5k", {"step", "part"}),
        ("brown green red", {"step", "part"}),  # IEC 60062: 1, 5, ×100
        ("R1", set()),
    ],
)
def test_a_row_is_found_by_word_part_value_and_colour(client, draft, query, result):
    client.force_login(draft.kit.designers.first())
    assert {hit.kind.value for hit in search(client, draft, query).context["hits"]} == result


def test_a_hit_leads_to_its_form_and_its_place_in_the_guide(client, draft):
    client.force_login(draft.kit.designers.first())
    page = search(client, draft, "solder").content.decode()
    step = draft.stages.get().steps.get()
    args = [draft.kit.key, draft.letter, "board", "step", step.pk]
    assert reverse("guides:edit-inner", args=args) in page and f"#step-{step.pk}" in page
    assert client.get(reverse("guides:edit-inner", args=args)).status_code == 200


def test_an_issued_guide_is_searched_without_a_way_to_edit_it(client, draft):
    draft.state = "issued"
    draft.save()
    client.force_login(draft.kit.designers.first())
    assert "/edit/" not in search(client, draft, "solder").content.decode()
