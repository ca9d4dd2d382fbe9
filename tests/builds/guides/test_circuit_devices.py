"""Transistors and other devices in guide files and the editor: imported, written out again, refused when incomplete."""

import pytest
from django.urls import reverse

from builds.guides.circuit import stored
from builds.guides.editor.examples import EXAMPLES
from builds.guides.guide_file import GuideErrors, read_guide, store_guide, write_guide
from tests import factories
from tests.builds.guides.test_circuit import GUIDE

pytestmark = pytest.mark.django_db
FOLLOWER = """[[part]]
ref = "Q1"
kind = "n-channel mosfet"
joins = { gate = "mid", drain = "ht", source = "out" }
pins = { gate = "1", drain = "2", source = "3" }
model = { threshold = 3.5 }
power = "10 W"
volts = "500 V"
[[part]]
ref = "R3"
kind = "resistor"
value = "47k"
power = "2W"
joins = ["out", "chassis"]
"""


def with_parts(parts: str) -> bytes:
    return GUIDE.replace("[[stage]]", parts + "[[stage]]", 1).replace('red = "mid"', 'red = "out"').encode()


@pytest.fixture
def designer():
    return factories.make_designer()


@pytest.fixture
def page(client, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_a_guide_with_a_source_follower_comes_out_as_it_went_in(designer):
    draft = store_guide(read_guide(with_parts(FOLLOWER)), designer)
    again = read_guide(write_guide(draft).encode())
    part = next(p for p in again["part"] if p["ref"] == "Q1")
    assert part["joins"] == {"gate": "mid", "drain": "ht", "source": "out"} and part["model"] == {"threshold": 3.5}


def test_a_follower_left_to_the_model_gets_a_figure_and_its_assumed_data_are_shown(page, designer):
    """Half of some 270 V less 3.5 V and a little: a source follows its gate."""
    draft = store_guide(read_guide(with_parts(FOLLOWER)), designer)
    stored.figures_or_job(draft)
    detail = stored.saved_figures(draft).detail
    assert 120 < detail["checks"]["power/mid"]["value"] < 145
    assert [row["of"] for row in detail["assumed_figures"]] == ["transconductance"]
    body = page.get(reverse("guides:circuit", args=[draft.kit.key, draft.letter])).content.decode()
    assert "Assumed component data" in body and "Threshold voltage" in body


@pytest.mark.parametrize(
    "wrong",
    [
        FOLLOWER.replace("threshold = 3.5", "gain = 100"),
        FOLLOWER.replace("threshold = 3.5", "transconductance = 2"),
        FOLLOWER.replace(', source = "out" }\npins', " }\npins"),
    ],
)
def test_an_incomplete_transistor_is_refused_at_import(wrong):
    with pytest.raises(GuideErrors) as refused:
        read_guide(with_parts(wrong))
    assert any("Q1" in str(t) for t in refused.value.problems)


def test_the_editor_takes_the_example_of_a_transistor(page, designer):
    draft = factories.make_revision(designer=designer, issued=False)
    example = EXAMPLES["detail"].split("# power is")[1].split("\n\n")[0].split("\n", 2)[2]
    part = {"ref": "Q1", "kind": "n-channel mosfet", "quantity": "1", "detail": example}
    address = reverse("guides:add", kwargs={"kit": draft.kit.key, "letter": draft.letter, "kind": "part"})
    assert page.post(address, part).status_code == 302
    assert draft.parts.get(ref="Q1").detail["model"]["threshold"] == 3
