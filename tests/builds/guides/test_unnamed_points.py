"""A point that the designer wrote no words for is shown as an end of a part. Marks of ends are common practice."""

import pytest

from builds.guides.probes import ProbeMap
from tests import factories

pytestmark = pytest.mark.django_db
PARTS = [
    {"ref": "D1", "kind": "diode", "joins": {"anode": "ht.a", "cathode": "ht.raw"}},
    {"ref": "C1", "kind": "electrolytic", "value": "47u", "joins": ["ht.raw", "chassis"]},
    {"ref": "C2", "kind": "electrolytic", "value": "47u", "joins": ["chassis", "bias"]},
    {"ref": "R1", "kind": "resistor", "value": "1k", "joins": ["ht.raw", "tap"]},
    {"ref": "R2", "kind": "resistor", "value": "1k", "joins": ["tap", "anode"]},
    {"ref": "R3", "kind": "resistor", "value": "1k", "joins": ["side", "bias"]},
    {"ref": "R4", "kind": "resistor", "value": "1k", "joins": ["side", "bias"]},
    {"ref": "V1", "kind": "triode", "base": "B9A", "pins": {"anode": "6"}, "joins": {"anode": "anode"}},
    {"ref": "V2", "kind": "triode", "base": "B9A", "pins": {"anode": "1"}, "joins": {"anode": "V3.1"}},
    {"ref": "V3", "kind": "triode", "base": "B9A", "pins": {"anode": "1"}, "joins": {"anode": "V2.1"}},
]


@pytest.fixture
def draft():
    revision = factories.make_revision(issued=False, stages=0)
    for position, row in enumerate(PARTS):
        detail = {key: value for key, value in row.items() if key not in ("ref", "kind", "value")}
        revision.parts.create(
            position=position, ref=row["ref"], kind=row["kind"], value=row.get("value", ""), detail=detail
        )
    return revision


@pytest.mark.parametrize(
    ("point", "place"), [("ht.raw", "C1 +"), ("bias", "C2 −"), ("tap", "where R1 and R2 meet"), ("anode", "V1 pin 6")]
)
def test_a_point_without_words_is_shown_as_an_end_of_a_part(draft, point, place):
    shown = ProbeMap.of(draft).probe(point).location
    assert shown.startswith(f"{point}, ") and place in shown


def test_no_socket_is_drawn_for_a_point_that_may_not_be_wired_to_it_yet(draft):
    probe = ProbeMap.of(draft).probe("anode")
    assert (probe.ref, probe.pin, probe.base) == ("", "", "")
    assert ProbeMap.of(draft).probe("V1.6").base == "B9A"


@pytest.mark.parametrize("point", ["side", "ht.a", "chassis", "nowhere"])
def test_a_point_that_no_single_place_tells_keeps_its_name(draft, point):
    assert ProbeMap.of(draft).probe(point).location == point


def test_the_designers_own_words_come_first(draft):
    draft.points.create(node="ht.raw", words="the red tag", position=0)
    assert ProbeMap.of(draft).probe("ht.raw").location == "the red tag"


@pytest.mark.parametrize("words", ["", "ht.raw"])
def test_a_point_put_on_a_picture_without_words_keeps_its_picture(draft, words):
    draft.points.create(node="ht.raw", words=words, position=0, picture="inside.png", marker=[0.5, 0.25])
    probe = ProbeMap.of(draft).probe("ht.raw")
    assert "C1 +" in probe.location and (probe.picture, probe.marker) == ("inside.png", (0.5, 0.25))


def test_points_named_like_pins_of_each_other_are_still_shown(draft):
    assert ProbeMap.of(draft).probe("V2.1").location.startswith("V2 pin 1")
