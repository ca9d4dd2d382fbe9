"""No check sends a builder's probes to the mains; the protective earth and a pulled plug may be measured cold."""

import tomllib

import pytest

from builds.guides.demo.files import demo_zip
from builds.guides.guide_file import read_guide
from builds.guides.mains_side import MainsSide

PARTS = tomllib.loads("""
[[part]]
ref = "P1"
kind = "connector"
joins = ["inlet.l", "inlet.n", "chassis"]
[[part]]
ref = "F1"
kind = "fuse"
joins = ["inlet.l", "a"]
[[part]]
ref = "S1"
kind = "switch"
joins = ["a", "b"]
[[part]]
ref = "C20"
kind = "capacitor"
joins = ["b", "chassis"]
[[part]]
ref = "T1"
kind = "mains transformer"
[[part.winding]]
name = "primary"
joins = ["b", "inlet.n"]
[[part.winding]]
name = "ht"
joins = ["ht.a", "chassis", "ht.b"]
[[part]]
ref = "F2"
kind = "fuse"
joins = ["ht.a", "ht.fused"]
[[part]]
ref = "V1"
kind = "pentode"
pins = { anode = "7", heater = ["4", "5"] }
joins = { anode = "ht.fused", heater = ["b", "h"] }
""")["part"]
SIDE = MainsSide.of(PARTS)


def forbidden(red, black="chassis", measure="resistance", power="off", **more):
    return SIDE.is_forbidden({"red": red, "black": black, "measure": measure, **more}, power, {"tap": "the live pin"})


def test_the_mains_side_ends_at_the_transformer_and_at_the_chassis():
    assert SIDE.nodes == {"inlet.l", "inlet.n", "a", "b", "h"}
    assert {"F1", "S1", "P1"} <= SIDE.parts and not {"F2", "T1", "C20x"} & SIDE.parts


@pytest.mark.parametrize("power", ["on", "off"])
@pytest.mark.parametrize("measure", ["ac volts", "resistance", "continuity"])
@pytest.mark.parametrize("place", ["a", "b", "inlet.l", "V1.4", "V1.5", "mains.live", "tap"])
def test_a_node_on_the_mains_is_never_probed(place, measure, power):
    side = MainsSide.of([*PARTS, {"ref": "X", "kind": "link", "joins": ["mains.live", "inlet.l"]}])
    text = {"tap": "the live pin of the inlet"}
    assert side.is_forbidden({"red": place, "measure": measure}, power, text) == "red"
    assert side.is_forbidden({"red": "ht.a", "black": place, "measure": measure}, power, text) == "black"


@pytest.mark.parametrize(
    "text",
    [
        "live",
        "the live pin of the IEC inlet",
        "neutral",
        "the mains fuse",
        "the mains switch's upper tag",
        "the far tag of F1",
        "S1, lower tag",
        "the inlet",
        "mains",
        "the wall outlet",
        "the brown wire on the mains side",
        "the mains transformer's primary",
        "the live pin of the mains lead's plug",  # not said to be out of the wall
        "Phase am Stecker",
        "Netzschalter, oben",
        "the primary of the mains transformer",
        "the primary tags of T1",
        "T1's primary winding, brown",
        "Primärwicklung des Netztrafos",
        "Netztrafo primär",
        "the 230 V tap of the transformer",
        "the voltage selector, centre",
        "Spannungswähler, Mitte",
        "the wall voltage",
        "the series lamp's socket",
        "the variac",
        "L and N of the connector",
        "P1.l",
        "S1.2",
        "the rocker switch, rear tag",  # the kit has no switch but on the mains
        "Kippschalter hinten",
    ],
)
def test_words_for_the_mains_are_refused(text):
    assert forbidden(f"={text}") == "red"
    assert forbidden(f"={text}, pulled out of the wall", measure="ac volts", power="on") == "red"


@pytest.mark.parametrize(
    "text",
    [
        "the earth pin of the mains lead's plug, pulled out of the wall",
        "the live and neutral pins of the plug together, pulled out of the wall, S1 on",
        "the earth pin of the inlet",
        "the live pin of the unplugged plug",
    ],
)
def test_the_earth_and_a_pulled_plug_are_measured_cold_only(text):
    assert forbidden(f"={text}", measure="continuity") == ""
    assert forbidden(f"={text}", measure="continuity", power="on") == "red"
    assert forbidden(f"={text}", measure="ac volts") == "red"


@pytest.mark.parametrize(
    "place",
    [
        "ht.a",
        "V1.7",
        "chassis",
        "=the red tag of C1, nearest the fuse",
        "=T2's primary, blue",
        "=F2, far tag",
        "=the HT fuse",  # the kit has one off the mains
        "=the output transformer's primary, centre tap",
        "=the secondary of T1, red",
        "=the 240 V tap of T1's secondary",
        "=the standby switch's tag at R2",
        "=Primärseite des Ausgangsübertragers",
        "=L output",
    ],
)
def test_points_off_the_mains_may_be_probed(place):
    assert forbidden(place, measure="dc volts", power="on") == ""


def test_a_thermometer_touches_nothing():
    assert forbidden("=the top of the mains switch", measure="temperature", power="on") == ""


@pytest.mark.lengthy
@pytest.mark.parametrize("name", ["five-watt", "line-preamp"])
def test_both_demonstration_guides_keep_off_the_mains(name):
    data = read_guide(demo_zip(name))
    side = MainsSide.of(data["part"])
    text = {point["node"]: point["words"] for point in data["point"]}
    for stage in data["stage"]:
        for check in stage.get("check", []):
            assert side.is_forbidden(check, stage.get("power", "off"), text) == "", check["key"]


@pytest.mark.parametrize(
    ("more", "expected"), [([], "red"), ([{"ref": "F2", "kind": "fuse", "joins": ["x", "y"]}], "")]
)
def test_a_fuse_without_a_name_is_the_mains_fuse_where_the_kit_has_no_other(more, expected):
    side = MainsSide.of([row for row in PARTS if row["ref"] != "F2"] + more)
    for words in ("=the fuse holder, rear tag", "=Sicherungshalter", "=the fuse"):
        assert side.is_forbidden({"red": words, "measure": "dc volts"}, "on", {}) == expected
    assert not side.is_forbidden({"red": "=the + tag next to the fuse", "measure": "dc volts"}, "on", {})


@pytest.mark.parametrize("words", ["=Si1 rechts", "=si1, right end", "=Anschluss von Si1.", "=AÜ9 oben"])
def test_a_probe_is_kept_off_a_mains_part_however_its_reference_is_written(words):
    parts = [
        {"ref": "Tr1", "kind": "mains transformer", "winding": [{"name": "primary", "joins": ["mains.a", "mains.b"]}]},
        {"ref": "Si1", "kind": "fuse", "value": "1 A", "joins": ["mains.line", "mains.a"]},
        {"ref": "AÜ9", "kind": "switch", "joins": ["mains.line", "mains.a"]},
        {"ref": "R1", "kind": "resistor", "value": "1k", "joins": ["x", "chassis"]},
    ]
    side = MainsSide.of(parts)
    assert side.is_forbidden({"measure": "ac volts", "red": words}, "on", {}) == "red"
    assert not side.is_forbidden({"measure": "ac volts", "red": "=R1 rechts"}, "on", {})
