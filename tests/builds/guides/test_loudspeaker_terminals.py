"""Two terminals of a loudspeaker, one red and one black, and transformers that nobody has given windings yet."""

import pytest

from builds.guides.blocks import BLOCKS
from builds.guides.blocks.guess import guess_refs
from builds.guides.editor.wiring_table import unwired
from builds.guides.wiring.ends import flat_joins
from tests.builds.guides.test_wiring_and_blocks import parts_of, put

LIST = """Ref;Wert;Verwendung
V2;EL84;Endröhre
AÜ1;5k6 : 8 Ω;Ausgangsübertrager
R8;680k;Gitterableitwiderstand V2
R10;330 2 W;Kathode V2
Bu2;Cinch;Eingangsbuchse
{}
"""
TWO = {
    "German": "Bu3;;Lautsprecherklemme schwarz\nBu4;;Lautsprecherklemme rot",
    "English": "J3;;Speaker terminal, black\nJ4;;Speaker terminal, red",
    "signs": "J3;;Loudspeaker -\nJ4;;Loudspeaker + 8 Ω",
}
ONE = {
    "a socket": "J3;;Loudspeaker socket",
    "a pair in one": "J3;;Loudspeaker binding posts, red and black",
    "a plus alone": "J3;;Speaker +",
}


def placed(lines: str, **refs):
    return put(
        parts_of(LIST.format(lines)), "single-ended", primary_ohms="300R", secondary_ohms="0.6R", input="g", **refs
    )


@pytest.mark.parametrize("how", TWO)
def test_the_black_terminal_goes_to_the_chassis_and_the_red_one_to_the_winding(how):
    parts, errors = placed(TWO[how])
    assert not errors
    joins = {row["ref"].capitalize(): flat_joins(row) for row in parts if row["kind"] == "connector"}
    black, red = ("Bu3", "Bu4") if how == "German" else ("J3", "J4")
    assert [*joins[black].values()] == ["chassis"] and [*joins[red].values()] == ["speaker"]
    assert not joins["Bu2"]


@pytest.mark.parametrize("how", ONE)
def test_a_single_socket_has_both_ends(how):
    parts, errors = placed(ONE[how])
    assert not errors
    assert flat_joins(next(row for row in parts if row["ref"] == "J3")) == {"tip": "speaker", "sleeve": "chassis"}


def test_a_black_terminal_alone_is_nothing_to_put_the_loudspeaker_on():
    refs = guess_refs(BLOCKS["single-ended"], parts_of(LIST.format("J3;;Speaker terminal, black")))
    assert (refs["jack"], refs["jack_minus"]) == ("", "")


def test_a_transformer_without_windings_is_not_wired_yet():
    bare = {"ref": "T1", "kind": "mains transformer"}
    assert unwired(bare) == ["T1"] and unwired(bare | {"ref": "T2", "kind": "output transformer"}) == ["T2"]
    winding = {"name": "primary", "volts": "230 V", "joins": ["mains.live", "mains.neutral"]}
    assert unwired(bare | {"winding": [winding]}) == []
    assert unwired({"ref": "M1", "kind": "hardware"}) == []
