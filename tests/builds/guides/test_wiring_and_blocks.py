"""The circuit without its text: wires by ends and points, and building blocks that lay a whole line stage."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.guides.blocks import BLOCKS, place_block
from builds.guides.blocks.guess import guess_refs
from builds.guides.blocks.heater_guess import guess_heater
from builds.guides.mains_side import MainsSide
from builds.guides.parts_import.columns import guess
from builds.guides.parts_import.sheet import read_text
from builds.guides.parts_import.table import read_table
from builds.guides.proposals.propose import propose
from builds.guides.wiring.ends import flat_joins, list_ends, with_joins
from builds.guides.wiring.wires import ends_by_point, wire
from checks.circuit import part_from_mapping

LINE_STAGE = """\
Ref;Value;Tolerance;Rating;Description;Bag
T1;;;;Mains transformer 220-0-220 V 50 mA, 6.3 V 1 A;1
P1;;;;Mains inlet with earth;1
F1;500 mA T;;;Mains fuse;1
S1;;;;Mains switch;1
D1, D2;1N4007;;1000 V;;2
C1–C3;47u;20%;450 V;;2
R1;1k;5%;2 W;Smoothing;2
R2;4k7;5%;2 W;Smoothing;2
R3;220k;5%;1 W;Bleeder;2
R4, R5;100R;5%;0.5 W;Heater balance;2
V1;ECC82;;;Line valve;3
J1;;;;Input socket;3
J2;;;;Output socket;3
R6;1M;5%;0.5 W;Grid leak;3
R7;1k;5%;0.5 W;Grid stopper;3
R8;47k;5%;2 W;Anode load;3
R9;1k5;5%;0.5 W;Cathode;3
C4;100u;;25 V;Cathode;3
R10;33k;5%;2 W;Follower cathode;3
C5;2u2 film;10%;400 V;Output;3
R11;470k;5%;0.5 W;Output;3
"""


def parts_of(text):
    sheet = read_text(text)
    table = read_table(sheet.rows, *guess(sheet.rows))
    assert not table.errors
    return table.parts


def put(parts, key, *, refs=None, values=None, **said):
    """Place a block by what its form suggests, and what is said beside."""
    block = BLOCKS[key]
    asked = {ask.name: ask.default for ask in block.asks} | {"valves": guess_heater(parts)["valves"], "mains": "230 V"}
    return place_block(block, parts, guess_refs(block, parts) | (refs or {}), values or {}, asked | said)


@pytest.fixture(scope="module")
def line_stage():
    """A 25-part line stage, laid by four blocks from what they suggest themselves."""
    parts = parts_of(LINE_STAGE)
    for key, said in (
        ("rectifier", {"volts": "220 V", "amps": "50 mA", "ohms": "350R", "primary_ohms": "40R"}),
        ("heaters", {"amps": "1 A", "ohms": "0.3R"}),
        ("triode", {"rail": "ht.3"}),
        ("follower", {"rail": "ht.3"}),
    ):
        parts, errors = put(parts, key, **said)
        assert not errors
    return parts


def test_blocks_wire_every_part_of_a_line_stage(line_stage):
    assert len(line_stage) == 25
    assert not [row["ref"] for row in line_stage if not any(end.point for end in list_ends(row))]
    assert [part_from_mapping(row).ref for row in line_stage] == [row["ref"] for row in line_stage]


@pytest.mark.lengthy
def test_the_blocks_read_what_arithmetic_says(line_stage):
    """Without valves the rail stands at the peak of the winding: 220 V × √2 = 311 V; common practice: within a tenth of
    it for regulation and diode drop."""
    proposals = propose({"kit": {}, "part": line_stage, "stage": [], "point": [], "fault": []})
    assert proposals.error is None
    bare = {p.row["red"]: p for p in proposals.proposals if p.stage == proposals.places.no_valves}
    assert bare["ht.1"].value == pytest.approx(311, rel=0.1)
    cold = {p.row["red"]: p for p in proposals.proposals if p.stage == proposals.places.cold}
    assert cold["V1.8"].value == pytest.approx(1500, rel=0.001)  # R9 alone
    assert cold["V1.6"].value == pytest.approx(220e3 + 1000 + 4700 + 47e3, rel=0.001)  # R3, R1, R2 and R8 in line
    full = {p.row["red"]: p for p in proposals.proposals if p.stage == proposals.places.full and p.unit == "V"}
    current = next(p for p in proposals.proposals if p.row.get("through") == "R9")
    assert full["V1.8"].value == pytest.approx(current.value * 1500, rel=0.01)  # Ohm's law


@pytest.mark.lengthy
def test_proposals_have_a_stop_limit_that_good_builds_do_not_reach(line_stage):
    proposals = propose({"kit": {}, "part": line_stage, "stage": [], "point": [], "fault": []})
    live = [p for p in proposals.proposals if p.stage != proposals.places.cold]
    assert live and all(p.row.get("stop_above") or p.row.get("stop_below") or p.is_past for p in live)
    assert not [p for p in live if p.stage == proposals.places.no_valves and p.is_past]  # no valve is there to be hurt
    rail = next(p for p in live if p.row["red"] == "ht.1")
    assert rail.row["stop_above"] == "450 V"  # C1's rating


@pytest.mark.lengthy
def test_no_proposal_touches_the_mains(line_stage):
    proposals = propose({"kit": {}, "part": line_stage, "stage": [], "point": [], "fault": []})
    side = MainsSide.of(line_stage)
    power = {stage["key"]: stage.get("power", "off") for stage in proposals.stages}
    assert not [p.row for p in proposals.proposals if side.is_forbidden(p.row, power[p.stage], {})]
    assert [p.row["key"] for p in proposals.proposals if "mains" in p.row["red"] + p.row.get("black", "")] == [
        "earth-bond"
    ]


@pytest.mark.lengthy
def test_a_check_that_is_there_is_not_proposed_twice(line_stage):
    tables = {"kit": {}, "part": line_stage, "stage": [], "point": [], "fault": []}
    first = propose(tables)
    stages = [stage | {"check": [p.row for p in first.proposals if p.stage == stage["key"]]} for stage in first.stages]
    assert all(p.is_there for p in propose(tables | {"stage": stages}).proposals)


@pytest.mark.lengthy
def test_stages_that_are_there_are_used(line_stage):
    stages = [
        {"key": "wiring", "title": "Wiring", "gate": True},
        {"key": "up", "title": "Up", "power": "on", "not_fitted": ["V1"], "cautions": ["one-hand"]},
        {"key": "play", "title": "Play", "power": "on", "cautions": ["one-hand"]},
    ]
    proposals = propose({"kit": {}, "part": line_stage, "stage": stages, "point": [], "fault": []})
    assert (proposals.places.cold, proposals.places.no_valves, proposals.places.full) == ("wiring", "up", "play")
    assert not proposals.added


def test_a_bias_capacitor_and_a_resistor_without_its_capacitor_are_not_suggested_for_the_supply():
    parts = parts_of(LINE_STAGE + "C6;22u;;100 V;;3\nR12;15k;5%;1 W;;3\n")
    refs = guess_refs(BLOCKS["rectifier"], parts)
    assert (refs["c3"], refs["r2"]) == ("C3", "R2")
    assert (refs["c4"], refs["r3"]) == ("", "")


def test_a_block_refuses_a_part_that_is_joined_elsewhere(line_stage):
    _parts, errors = put(line_stage, "triode", refs={"load": "R10", "valve": "V1"}, rail="ht.3")
    assert [error.code for error in errors.values()] == ["role-wired"]


def test_a_block_refuses_a_part_of_another_kind_and_one_named_twice():
    parts = parts_of(LINE_STAGE)
    _parts, errors = put(parts, "triode", refs={"load": "C4", "ck": "", "valve": "V1"})
    assert errors["load"].code == "role-kind"
    _parts, errors = put(parts, "triode", refs={"load": "R8", "rk": "R8"})
    assert errors["rk"].code == "role-twice"


def test_a_block_places_parts_that_the_list_has_not():
    refs = {"u": "U1", "cin": "C1", "cout": "C2"}
    values = {"u": "12 V", "cin": "100n 50 V", "cout": "1u 50 V"}
    parts, errors = put([], "regulator", refs=refs, values=values, **{"in": "raw", "out": "heaters"})
    assert not errors
    assert parts[0]["joins"] == {"input": "raw", "output": "heaters", "common": "chassis"}
    assert part_from_mapping(parts[1]).value == pytest.approx(100e-9)


POWER = """\
Ref;Value;Rating;Description
V2, V3;EL34;;
T1;;;Mains transformer
T2;;;Output transformer
R1, R2;220k;0.5 W;Grid leak
R3, R4;4k7;0.5 W;Grid stopper
R5, R6;1k;2 W;Screen
R7;250R;10 W;Cathode
C1;100u;63 V;Cathode bypass
"""


@pytest.mark.parametrize("how", ["pentode", "triode", "taps"])
@pytest.mark.parametrize("bias", ["cathode", "fixed"])
def test_a_push_pull_stage_is_a_readable_circuit_in_every_way(how, bias):
    refs = {} if bias == "cathode" else {"rk1": "", "ck1": ""}
    said = {"how": how, "bias": bias, "primary_ohms": "200R", "secondary_ohms": "0.5R"}
    parts, errors = put(parts_of(POWER), "heaters", amps="4 A", ohms="0.1R", ground="side")
    assert not errors
    parts, errors = put(parts, "push-pull", refs=refs, **said)
    assert not errors
    by_ref = {row["ref"]: part_from_mapping(row) for row in parts if row["ref"] in ("V2", "V3", "T2", "R1")}
    screen = {"pentode": "R5", "triode": "R5", "taps": "R5"}[how]
    supply = flat_joins(next(row for row in parts if row["ref"] == screen))["a"]
    assert supply == {"pentode": "ht.2", "triode": "v2.anode", "taps": "v2.tap"}[how]
    assert by_ref["R1"].joins["b"] == ("chassis" if bias == "cathode" else "bias")
    assert sum(w.ohms for w in by_ref["T2"].windings if w.name.startswith("primary")) == pytest.approx(200)
    assert by_ref["V2"].joins["suppressor"] == by_ref["V2"].joins["cathode"]  # EL34: grid 3 has a pin of its own


def test_every_block_lists_what_it_needs():
    for block in BLOCKS.values():
        needed = {role.name for role in block.roles if role.is_needed}
        _parts, errors = place_block(block, [], {}, {}, {"mains": "230 V"})
        assert needed <= {*errors}


TWO = [
    {"ref": "R1", "kind": "resistor", "value": "1k"},
    {"ref": "R2", "kind": "resistor", "value": "1k"},
    {"ref": "C1", "kind": "electrolytic", "value": "1u"},
]


def joins(net, ref):
    return flat_joins(next(row for row in net.parts if row["ref"] == ref))


def test_a_wire_from_end_to_end_makes_one_point():
    net = wire(TWO, [(1, "R1.a", "R2.a"), (2, "R1.a", "C1.+"), (3, "R1.b", "gnd")])
    assert not net.errors
    assert joins(net, "R1")["a"] == joins(net, "R2")["a"] == joins(net, "C1")["plus"]
    assert joins(net, "R1")["b"] == "chassis"


def test_a_name_goes_to_everything_that_meets_it():
    net = wire(TWO, [(1, "R1.a", "R2.a"), (2, "R2.a", "ht.main")])
    assert joins(net, "R1")["a"] == "ht.main"


@pytest.mark.parametrize(
    ("wires", "code"),
    [
        ([(1, "R1.c", "ht")], "no-end"),
        ([(1, "R1", "ht")], "no-end"),  # a part is no point: nothing would be wired
        ([(1, "R9.a", "ht")], "no-part"),
        ([(1, "R1.a", "what is this?")], "no-point"),
        ([(0, "R1.a", "ht.1"), (1, "R1.a", "ht.2")], "two-points"),
    ],
)
def test_a_wrong_wire_is_told_where_it_stands(wires, code):
    assert wire(TWO, wires).errors[1].code == code


def test_a_part_wired_at_one_end_is_not_yet_a_circuit_and_leaks_no_empty_point():
    net = wire(TWO, [(1, "R1.a", "ht")])
    assert next(row for row in net.parts if row["ref"] == "R1")["joins"] == {"a": "ht"}
    assert [point for point, _ends in ends_by_point(net.parts)] == ["ht"]


NAMES = st.sampled_from(["ht", "chassis", "in", "out"])


@pytest.mark.lengthy
@given(st.lists(st.tuples(st.sampled_from(["R1.a", "R1.b", "R2.a", "R2.b", "C1.+", "C1.-"]), NAMES), max_size=8))
def test_wiring_the_same_again_changes_nothing(wires):
    once = wire(TWO, [(n, *pair) for n, pair in enumerate(wires)])
    if not once.errors:
        again = wire(once.parts, [(n, *pair) for n, pair in enumerate(wires)])
        assert again.parts == once.parts and not again.errors


@given(st.dictionaries(st.sampled_from(["anode", "screen", "grid", "cathode", "heater.1", "heater.2"]), NAMES))
def test_joins_come_back_as_they_went_in(flat):
    row = {"ref": "V1", "kind": "pentode", "pins": {"anode": "7", "heater": ["4", "5"]}}
    assert flat_joins(with_joins(row, flat)) == flat
