"""What a rectifier the wrong way round does where it blows no fuse."""

import numpy as np
import pytest

from checks.circuit import part_from_mapping
from checks.diagnosis import Observation, fault_list, prepare, rank
from checks.diagnosis.codes import FaultCode

TURNED = ("D1 turned", "D3 turned")


def part(ref, kind, joins=None, **more):
    return part_from_mapping({"ref": ref, "kind": kind, **({"joins": joins} if joins else {}), **more})


def winding(name, volts, ohms, *joins):
    return {"name": name, "volts": volts, "ohms": ohms, "joins": list(joins)}


WINDINGS = [
    winding("primary", "230 V", "20R", "mains.live", "mains.neutral"),
    winding("ht", "200 V", "200R", "ht.a", "chassis", "ht.b"),
    winding("bias", "30 V", "15R", "bias.ac", "chassis"),
]
PARTS = [
    part("F1", "fuse", ["mains.inlet", "mains.live"], value="1 A"),
    part("T1", "mains transformer", regulation="8%", winding=WINDINGS),
    part("D1", "diode", {"anode": "ht.a", "cathode": "ht.raw"}),
    part("D2", "diode", {"anode": "ht.b", "cathode": "ht.raw"}),
    part("D3", "diode", {"anode": "bias.raw", "cathode": "bias.ac"}),
    part("C1", "electrolytic", ["ht.raw", "chassis"], value="47u", tolerance="20%", volts="400 V"),
    part("C2", "electrolytic", ["chassis", "bias.raw"], value="100u", tolerance="20%", volts="63 V"),
    part("R1", "resistor", ["ht.raw", "chassis"], value="47k", tolerance="5%"),
    part("R2", "resistor", ["bias.raw", "chassis"], value="22k", tolerance="5%"),
    part("D9", "diode", {"anode": "ht.raw", "cathode": "spare"}),
    part("R9", "resistor", ["spare", "chassis"], value="100k", tolerance="5%"),
]


def check(key, measure, red, black="chassis"):
    return {"key": key, "measure": measure, "red": red, "black": black, "through": ""}


STAGES = [
    {
        "key": "power",
        "power": "on",
        "not_fitted": [],
        "checks": [
            check("ac", "ac volts", "ht.a"),
            check("ac-bias", "ac volts", "bias.ac"),
            check("raw", "dc volts", "ht.raw"),
            check("bias", "dc volts", "bias.raw"),
        ],
    },
    {
        "key": "winding",
        "power": "on",
        "not_fitted": ["D1", "D2", "D3"],
        "checks": [check("bare", "ac volts", "ht.a"), check("bare-bias", "ac volts", "bias.ac")],
    },
]


@pytest.fixture(scope="module")
def prepared():
    wanted = {*TURNED, "D1 reversed", "D1 open", "D3 open", "D3 reversed", "R2 open", "T1 bias open", "T1 ht a open"}
    return prepare(PARTS, STAGES, samples=16, faults=[f for f in fault_list(PARTS) if f.key in wanted])


def reads(prepared, key, check):
    """At each size, or of a healthy kit."""
    at = [place.check for place in prepared.places].index(check)
    row = [f.key for f in prepared.faults].index(key) + 1 if key else 0
    means = prepared.size_mean[prepared.size_row == row, at] if key else prepared.mean[0, at]
    return np.sinh(means) * prepared.units[at]


@pytest.mark.lengthy
def test_a_bias_supply_that_is_turned_comes_to_the_other_sign_and_to_what_its_electrolytic_passes_backwards(prepared):
    """An aluminium electrolytic stands a volt or two the wrong way round (common practice)."""
    assert reads(prepared, "", "bias") < -35
    assert np.all((reads(prepared, "D3 turned", "bias") > 0.5) & (reads(prepared, "D3 turned", "bias") < 2.5))
    half = reads(prepared, "D3 turned", "ac-bias") / reads(prepared, "", "ac-bias")
    assert np.all((half >= 0.45) & (half <= 0.75))  # every other half cycle goes into it
    assert reads(prepared, "D3 turned", "raw") == pytest.approx(reads(prepared, "", "raw"), rel=0.05)


@pytest.mark.lengthy
def test_one_of_two_that_is_turned_leaves_half_of_the_winding_and_little_on_the_rail(prepared):
    """A meter's mean of a sine without every other half cycle is half of the whole one's."""
    share = reads(prepared, "D1 turned", "ac") / reads(prepared, "", "ac")
    assert share[0] == pytest.approx(0.5, abs=0.02) and np.all((share >= 0.49) & (share <= 0.8))
    rail = reads(prepared, "D1 turned", "raw") / reads(prepared, "", "raw")
    assert rail[0] < 0.02 and rail.max() < 0.6
    assert reads(prepared, "D1 turned", "ac-bias") == pytest.approx(reads(prepared, "", "ac-bias"), rel=0.1)


@pytest.mark.lengthy
def test_the_turned_diode_of_a_kit_whose_other_rails_are_alive_is_named(prepared):
    healthy = {name: float(reads(prepared, "", name)) for name in ("ac", "ac-bias", "raw", "bias")}
    index = {p.check: p.name for p in prepared.places if p.stage == "power" and p.check}

    def first(**wrong):
        seen = healthy | {name.replace("_", "-"): value for name, value in wrong.items()}
        return rank(prepared, [Observation(index[n], v, 0.01 * abs(v) + 0.01) for n, v in seen.items()]).groups[0]

    assert first(bias=1.4, ac_bias=0.57 * healthy["ac-bias"]).faults[0].key == "D3 turned"
    assert first(bias=0.0).faults[0].key == "D3 open"
    assert first(ac=0.55 * healthy["ac"], raw=8.0).faults[0].key == "D1 turned"
    assert not {"D3 turned", "D1 turned"} & {
        f.key for f in first(**dict.fromkeys(("ac", "ac_bias", "raw", "bias"), 0.0)).faults[:1]
    }


def test_a_diode_that_stands_at_no_winding_is_turned_only_with_a_blown_fuse():
    turned = {f.refs[0] for f in fault_list(PARTS) if f.code is FaultCode.DIODE_TURNED}
    assert turned == {"D1", "D2", "D3"}


def test_both_candidates_share_what_a_turned_diode_weighs():
    weights = {f.key: f.weight for f in fault_list(PARTS)}
    assert weights["D1 turned"] == weights["D1 reversed"]


@pytest.mark.parametrize("key", TURNED)
@pytest.mark.parametrize("check", ["bare", "bare-bias"])
def test_a_diode_still_in_its_bag_shorts_no_winding(prepared, key, check):
    assert reads(prepared, key, check) == pytest.approx(reads(prepared, "", check), rel=0.01)


def test_a_doubler_with_a_turned_diode_is_not_calculated():
    doubler = [
        part(
            "T1", "mains transformer", regulation="8%", winding=[WINDINGS[0], winding("ht", "140 V", "40R", "a", "mid")]
        ),
        part("D1", "diode", {"anode": "a", "cathode": "raw"}),
        part("D2", "diode", {"anode": "chassis", "cathode": "a"}),
        part("C1", "electrolytic", ["raw", "mid"], value="47u", tolerance="20%", volts="250 V"),
        part("C2", "electrolytic", ["mid", "chassis"], value="47u", tolerance="20%", volts="250 V"),
    ]
    assert not [f for f in fault_list(doubler) if f.code is FaultCode.DIODE_TURNED]
