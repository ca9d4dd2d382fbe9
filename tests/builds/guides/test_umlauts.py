"""References as a German list has them, such as Rö1 and AÜ1: their points are typed, wired and found like any other."""

from unicodedata import normalize

import pytest
from django.urls import reverse

from builds.guides.guide_file.walk import SLUG
from builds.guides.guide_file.write import as_tables
from builds.guides.parts_import.sheet import read_text
from builds.guides.plain_letters import as_key
from builds.guides.proposals.propose import propose
from builds.guides.text_import.part_ends import point_named
from builds.guides.wiring.wires import wire
from checks.errors import ChecksError
from tests import factories
from tests.builds.guides.sent_form import sent_fields
from tests.builds.guides.test_wiring_and_blocks import LINE_STAGE, parts_of, put

VALVE = {
    "ref": "Rö1",
    "kind": "triode",
    "detail": {"base": "B7G", "type": "6C4", "pins": {"anode": "1", "grid": "6", "cathode": "7"}},
}
RESISTOR = {"ref": "R1", "kind": "resistor", "value": "100k"}


@pytest.mark.django_db
def test_an_end_of_such_a_part_is_wired_in_the_table(client):
    draft = factories.make_revision(issued=False, parts=(VALVE, RESISTOR), stages=0)
    client.force_login(draft.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("guides:wiring", args=[draft.kit.key, draft.letter])
    form = sent_fields(client.get(address).content.decode())
    assert "end-Rö1.anode" in form
    answer = client.post(address, form | {"end-Rö1.anode": "rö1.anode", "end-R1.b": "rö1.anode"})
    assert answer.status_code == 302
    rows = {row["ref"]: row for row in as_tables(draft)["part"]}
    assert rows["Rö1"]["joins"] == {"anode": "rö1.anode"} and rows["R1"]["joins"] == {"b": "rö1.anode"}


def test_a_point_may_be_called_after_such_a_part():
    parts = parts_of("Ref;Wert\nRö1;ECC83\nR1;100k")
    assert not wire(parts, [(1, "R1.a", "rö1a.out")]).errors


@pytest.mark.parametrize("name", ["m\u0430ins.live", "ｍains.live", "ht main", "rö1\u200b.out", ""])
def test_a_point_of_letters_that_only_look_alike_is_refused(name):
    """U+0430 is a Cyrillic letter that looks like the Latin a (Unicode's table of confusables)."""
    net = wire([{"ref": "R1", "kind": "resistor", "value": "1k"}], [(1, "R1.a", name)])
    assert isinstance(net.errors.get(1), ChecksError)


def test_words_name_such_a_part():
    parts = [{"ref": "Rö1", "kind": "triode", "pins": {"anode": "1"}, "joins": {"anode": "a"}, "base": "B7G"}]
    assert point_named("Rö1 Anode", parts) == "Rö1.1"


def test_letters_in_two_pieces_are_read_as_one():
    """A file of some systems has ö as o with U+0308 (Unicode's canonical decomposition)."""
    apart = normalize("NFD", "Ref;Wert\nRö1;ECC83")
    assert apart != normalize("NFC", apart)
    assert read_text(apart).rows[1][0] == "Rö1"


@pytest.mark.lengthy
def test_the_proposed_checks_of_such_valves_have_names_that_are_taken():
    """A short name takes lower-case letters, digits and hyphens, as a guide file has it."""
    parts = parts_of(LINE_STAGE.replace("V1", "Rö1").replace("V2", "Rö2"))
    for key, said in (
        ("rectifier", {"volts": "220 V", "amps": "50 mA", "ohms": "350R", "primary_ohms": "40R"}),
        ("heaters", {"amps": "1 A", "ohms": "0.3R"}),
        ("triode", {"rail": "ht.3"}),
        ("follower", {"section": "b", "rail": "ht.3", "input": "rö1a.anode"}),
    ):
        parts, errors = put(parts, key, **said)
        assert not errors
    tables = {"kit": {}, "part": parts, "stage": [], "point": [], "fault": []}
    rows = [proposal.row for proposal in propose(tables).proposals]
    assert any(row["red"].startswith("Rö1.") for row in rows)
    assert all(SLUG.fullmatch(row["key"]) for row in rows), [row["key"] for row in rows]
    assert "roe1-6" in {row["key"] for row in rows}


NAMED = (("Rö1.6", "roe1-6"), ("ht.1", "ht-1"), ("AÜ1.ht.2", "aue1-ht-2"), ("Ж", ""))


@pytest.mark.parametrize(("words", "key"), NAMED)
def test_a_short_name_has_plain_letters_alone(words, key):
    assert as_key(words) == key and (not key or SLUG.fullmatch(key))
