"""No block leaves a grid without a leak, and a self-biased cathodyne stands where arithmetic says."""

import math

import pytest

from builds.guides.blocks import BLOCKS
from builds.guides.blocks.guess import guess_refs
from builds.guides.blocks.transformer_guess import guess_heater_amps, guess_transformer
from builds.guides.editor.block_form import list_lines
from builds.guides.editor.wiring_table import unwired
from builds.guides.proposals.propose import propose
from builds.guides.wiring.ends import flat_joins
from tests.builds.guides.test_wiring_and_blocks import parts_of, put

SUPPLY = {"volts": "250 V", "amps": "0.1 A", "ohms": "200R", "primary_ohms": "20R"}
LIST = """\
Ref;Value;Rating;Description
T1;;;Mains transformer 250-0-250 V 100 mA, 6,3 V / 2 A
J9;;;Kaltgerätestecker mit Schutzleiter
D1, D2;1N4007;1000 V;
C1;47u;450 V;Reservoir
R1;4k7;2 W;Smoothing
C2;47u;450 V;Smoothing
V1;ECC82;;
V2;ECC82;;
R2;100k;1 W;Anode load
R3;2k2;0.5 W;Cathode
C3;100n film;400 V;Coupling
R4;47k;1 W;Anode load of the splitter
R5;47k;1 W;Cathode load of the splitter
R6;1k8;0.5 W;Bias of the splitter
R7;1M;0.5 W;Leak of the splitter
"""
NONE = {"cin": "", "leak": "", "stopper": "", "jack_in": "", "jack_out": "", "ck": ""}


def supplied(extra: str = "", without: str = ""):
    listed = [row for row in parts_of(LIST + extra) if row["ref"] not in without.split()]
    parts, errors = put(listed, "rectifier", **SUPPLY)
    assert not errors
    parts, errors = put(parts, "heaters", ohms="0.1R", amps="2 A", ground="side")
    assert not errors
    return parts


def after_a_capacitor():
    refs = NONE | {"valve": "V1", "load": "R2", "rk": "R3", "couple": "C3"}
    parts, errors = put(supplied(), "triode", refs=refs, input="v1a.anode2", section="a", output="")
    assert not errors
    return parts


SPLITTER = NONE | {"valve": "V2", "load": "R4", "rk": "R5", "rbias": "R6", "ca": "", "cb": ""}


@pytest.mark.parametrize(
    ("key", "refs"),
    [
        ("follower", NONE | {"valve": "V2", "rk": "R5", "cout": "", "rout": ""}),
        ("cathodyne", SPLITTER),
        ("triode", NONE | {"valve": "V2", "load": "R4", "rk": "R6", "couple": ""}),
    ],
)
def test_a_grid_behind_a_coupling_capacitor_is_not_left_without_a_leak(key, refs):
    """A grid without a path to its cathode charges up, and the valve runs away (common practice: every coupling
    capacitor is followed by a leak)."""
    parts = after_a_capacitor()
    same, errors = put(parts, key, refs=refs, input="v1a.out", section="a")
    assert same == parts and errors["leak"].code == "no-grid-leak"
    _parts, errors = put(parts, key, refs=refs | {"cin": "C9"}, values={"cin": "100n 400V"}, input="in", section="a")
    assert errors["leak"].code == "no-grid-leak"
    with_leak, errors = put(parts, key, refs=refs | {"leak": "R7"}, input="v1a.out", section="a")
    assert not errors
    grid = next(row for row in with_leak if row["ref"] == "R7")
    assert "v1a.out" in flat_joins(grid).values()


def test_a_follower_straight_at_an_anode_needs_no_leak():
    refs = NONE | {"valve": "V2", "rk": "R5", "cout": "", "rout": ""}
    _parts, errors = put(after_a_capacitor(), "follower", refs=refs, input="v1a.anode", section="a")
    assert not errors


PAIR = (
    "R31, R32;100k;1 W;Anode\nR33;22k;1 W;tail\nR34;1k;0.5 W;bias\nC31;100n 400V;;grid\nR35;1M;0.5 W;leak of a pair\n"
)
OF_PAIR = {
    "valve": "V2",
    "load1": "R31",
    "load2": "R32",
    "rk": "",
    "tail": "R33",
    "cg": "C31",
    "ca": "",
    "cb": "",
    "cin": "",
}


def test_the_second_grid_of_a_pair_always_has_a_leak_and_a_direct_coupled_one_has_its_volts_from_the_first():
    parts, errors = put(supplied(PAIR), "triode", refs=NONE | {"valve": "V1", "load": "R2", "rk": "R3", "couple": ""},
                        input="in", section="a")  # fmt: skip
    assert not errors
    same, errors = put(parts, "pair", refs=OF_PAIR | {"leak": "", "leak2": ""}, input="v1a.anode")
    assert same == parts and errors["leak2"].code == "no-grid-leak"
    laid, errors = put(parts, "pair", refs=OF_PAIR | {"leak": "", "leak2": "R35"}, input="v1a.anode")
    assert not errors
    ends = flat_joins(next(row for row in laid if row["ref"] == "R35"))
    assert {*ends.values()} == {"v2b.grid", "v1a.anode"}


def koren_12au7(grid: float, anode: float) -> float:
    """Amperes of a 12AU7 (ECC82) section by N. Koren's formula and his figures for it (1996; written from memory)."""
    mu, exponent, kg1, kp, kvb = 21.5, 1.3, 1180.0, 84.0, 300.0
    e1 = anode / kp * math.log1p(math.exp(kp * (1 / mu + grid / math.sqrt(kvb + anode * anode))))
    return 2 * e1**exponent / kg1 if e1 > 0 else 0.0


@pytest.mark.lengthy
def test_a_self_biased_cathodyne_stands_where_an_independent_calculation_puts_it():
    """The grid is at the foot of R6, so below the cathode by what R6 drops: I = f(-I·R6, HT - I·(R4+R5+R6))."""
    first = NONE | {"valve": "V1", "load": "R2", "rk": "R3", "couple": "C3", "leak": "R20"}
    parts, errors = put(supplied(without="V2"), "triode", refs=first, values={"leak": "1M"}, input="in", section="a")
    assert not errors
    refs = SPLITTER | {"leak": "R7", "valve": "V1"}
    parts, errors = put(parts, "cathodyne", refs=refs, input="v1a.out", section="b")
    assert not errors
    live = propose({"kit": {}, "part": parts, "stage": [], "point": [], "fault": []})
    assert live.error is None
    full = {p.row["red"]: p.value for p in live.proposals if p.stage == live.places.full and p.unit == "V"}
    rail, anode, cathode = full["ht.2"], full["V1.1"], full["V1.3"]  # section b, by the maker's sheet
    low, high = 0.0, rail / 95_800
    for _step in range(60):
        amps = (low + high) / 2
        grows = koren_12au7(-amps * 1800, rail - amps * 95_800) > amps
        low, high = (amps, high) if grows else (low, amps)
    assert cathode == pytest.approx(amps * 48_800, rel=0.08)
    assert rail - anode == pytest.approx(amps * 47_000, rel=0.08)
    assert (rail - anode) / cathode == pytest.approx(47_000 / 48_800, rel=0.005)  # one current through all three


@pytest.mark.parametrize(
    ("note", "volts", "amps"),
    [
        ("250-0-250 V / 80 mA, 6,3 V / 2 A", "6.3 V", {"amps": "2 A"}),
        ("300-0-300 100mA, 5V 3A, 6.3V 3.5A", "6.3 V", {"amps": "3.5 A"}),
        ("300-0-300 100mA, 5V 3A, 6.3V 3.5A", "5 V", {"amps": "3 A"}),
        ("280-0-280 V 80 mA, 6.3 V 1 A, 6.3 V 2 A", "6.3 V", {}),
        ("280-0-280 V 80 mA", "6.3 V", {}),
        ("16.3 V 2 A", "6.3 V", {}),
    ],
)
def test_a_heater_winding_is_suggested_its_own_current_never_that_of_the_ht(note, volts, amps):
    row = {"ref": "T1", "kind": "mains transformer", "note": note}
    assert guess_heater_amps([row], {"transformer": "T1"}, volts) == amps


def test_the_form_of_a_heater_winding_leaves_out_the_current_of_the_ht():
    parts = [row | {"note": "Netztrafo 250-0-250 V 80 mA"} if row["ref"] == "T1" else row for row in parts_of(LIST)]
    assert guess_transformer(parts, {"transformer": "T1"})["amps"] == "80 mA"
    _roles, asks = list_lines(BLOCKS["heaters"], parts)
    assert next(line.text for line in asks if line.name == "amps") == ""


def test_a_mains_inlet_is_no_input_socket():
    assert guess_refs(BLOCKS["triode"], parts_of(LIST))["jack_in"] == ""
    assert guess_refs(BLOCKS["rectifier"], parts_of(LIST))["inlet"] == "J9"


def test_a_section_that_nothing_uses_goes_to_the_chassis_and_a_used_one_is_refused():
    parts = after_a_capacitor()
    roles, asks = list_lines(BLOCKS["unused"], parts)
    assert ([line.text for line in roles], asks[0].text) == (["V1"], "b")
    assert unwired(next(row for row in parts if row["ref"] == "V1")) == ["V1b"]
    parts, errors = put(parts, "unused", refs={"valve_half": "V1"}, section="b")
    assert not errors
    joins = flat_joins(next(row for row in parts if row["ref"] == "V1"))
    assert {joins[f"b.{name}"] for name in ("anode", "grid", "cathode")} == {"chassis"}
    _same, errors = put(parts, "unused", refs={"valve_half": "V1"}, section="a")
    assert errors["valve_half"].code == "role-wired"
