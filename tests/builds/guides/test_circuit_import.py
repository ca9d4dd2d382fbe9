"""What an import tells of a guide's circuit: what holds it up, with its line and the checks it stops, and what it only
warns of."""

import tomllib
from pathlib import Path

import pytest

from builds.guides.circuit.compute import compute
from builds.guides.guide_file import GuideErrors, circuit_warnings, read_guide
from builds.ui.messages.circuit import remark_sentence

GUIDE = (Path(__file__).parents[3] / "builds/guides/demo/line-preamp/guide.toml").read_text(encoding="utf-8")
GUIDE = "\n".join(row for row in GUIDE.splitlines() if not row.startswith(("picture =", "marker ="))) + "\n"


def with_part(text: str) -> str:
    return GUIDE.replace("[[stage]]", f"{text}\n[[stage]]", 1)


def refusal(text: str):
    with pytest.raises(GuideErrors) as caught:
        read_guide(text.encode())
    return caught.value.problems


def line_of(text: str, phrase: str) -> int:
    return text[: text.index(phrase)].count("\n") + 1


@pytest.mark.lengthy
def test_the_demonstration_guide_comes_in_without_a_word():
    assert read_guide(GUIDE.encode())["kit"]["key"] == "line-preamp"
    assert circuit_warnings(GUIDE.encode()) == []


def test_a_check_of_the_model_at_no_node_is_refused_at_its_own_line():
    at = GUIDE.index('key = "v-first"')
    text = GUIDE[:at] + GUIDE[at:].replace('red = "ht.first"', 'red = "ht.frist"', 1)
    (error,) = refusal(text)
    assert error.key.endswith("check v-first red") and "“ht.frist”" in error.message
    assert error.line == line_of(text, "ht.frist")


@pytest.mark.parametrize("place", ["V1.19", "V1.anode", "C2 +", "ht.frist"])
def test_a_check_with_a_figure_of_its_own_at_no_place_of_the_circuit_is_refused_too(place):
    at = GUIDE.index('key = "v-first"')
    text = GUIDE[:at] + GUIDE[at:].replace('red = "ht.first"', f'red = "{place}"', 1).replace(
        'expected = "model"', 'expected = "300 V"\nband = "8%"', 1
    )
    (error,) = refusal(text)
    assert error.key.endswith("check v-first red") and place in error.message


@pytest.mark.lengthy
def test_an_unused_pin_of_a_socket_may_be_measured():
    at = GUIDE.index('key = "o-v3-1"')
    text = GUIDE[:at] + GUIDE[at:].replace('red = "V3.1"', 'red = "V3.9"', 1).replace(
        'expected = "model"', 'expected = "open"', 1
    )
    assert read_guide(text.encode())


@pytest.mark.lengthy
def test_pins_unlike_the_published_ones_are_warned_of_and_hold_up_nothing():
    text = GUIDE.replace(
        'a.anode = "6", a.grid = "7", a.cathode = "8"', 'a.anode = "6", a.grid = "8", a.cathode = "7"', 1
    )
    read_guide(text.encode())
    (warning,) = circuit_warnings(text.encode())
    assert "a.grid is on pin 8, published 7" in warning.message and warning.line == line_of(text, 'ref = "V1"') - 1


def test_a_missing_pin_is_told_at_the_valve_and_at_every_check_that_probes_it():
    errors = refusal(GUIDE.replace('a.grid = "7", ', "", 1))
    line = line_of(GUIDE, 'ref = "V1"') - 1
    assert errors[0].line == line
    assert [t.message.split(":")[0] for t in errors] == [
        "V1",
        "Stage pre-power, check o-v1-7",
        "Stage valves-in, check v-v1-7",
    ]


UNKNOWN = GUIDE.replace('type = "ECC82"', 'type = "ECC92"', 1)


def test_a_valve_the_model_knows_not_names_the_checks_it_stops():
    (error,) = refusal(UNKNOWN)
    assert "No model of the ECC92" in error.message
    assert "which has none: valves-in" in error.message
    assert "pre-power" not in error.message and "first-power" not in error.message  # power off, and its valves left out


@pytest.mark.lengthy
def test_with_figures_of_their_own_where_it_stops_them_the_guide_comes_in_and_the_rest_is_computed():
    at = UNKNOWN.index('key = "valves-in"')
    text = UNKNOWN[:at] + UNKNOWN[at:].replace('expected = "model"', 'expected = "10 V"\nband = "99%"').replace(
        "stop_", "# stop_"
    )
    data = read_guide(text.encode())
    assert any("No model of the ECC92" in t.message for t in circuit_warnings(text.encode()))
    figures = compute(content(data), samples=100)["checks"]
    assert 6 < figures["first-power/p-heater"]["value"] < 7 and figures["pre-power/o-v1-7"]["value"] > 0
    reason = figures["valves-in/v-first"]["reason"]
    assert reason["code"] == "valve-model" and reason["params"]["inner"]["code"] == "unknown-valve"
    assert "ECC92" in remark_sentence(reason)


def content(data: dict) -> dict:
    stages = [
        {
            "key": s["key"],
            "power": s.get("power", "off"),
            "not_fitted": s.get("not_fitted", []),
            "supply": s.get("supply", {}),
            "checks": [
                {
                    "key": c["key"],
                    "measure": c["measure"],
                    "red": c["red"],
                    "black": c.get("black", "chassis"),
                    "through": c.get("through", ""),
                }
                for c in s.get("check", [])
            ],
        }
        for s in data["stage"]
    ]
    return {"mains": data["kit"]["mains"], "parts": data["part"], "stages": stages}


@pytest.mark.lengthy
def test_a_reading_without_a_dc_path_cannot_be_left_to_the_model():
    text = with_part(
        '[[part]]\nref = "C90"\nkind = "capacitor"\nvalue = "1u"\njoins = ["ht.first", "x"]\n'
        '[[part]]\nref = "C91"\nkind = "capacitor"\nvalue = "1u"\njoins = ["x", "chassis"]'
    )
    read_guide(text.encode())
    at = text.index('key = "v-first"')
    (error,) = refusal(text[:at] + text[at:].replace('red = "ht.first"', 'red = "x"', 1))
    assert "which has none" in error.message and "no DC path from x" in error.message


def test_the_guide_used_here_has_what_these_tests_change():
    keys = {s["key"] for s in tomllib.loads(GUIDE)["stage"]}
    assert {"pre-power", "first-power", "valves-in"} <= keys


LINK = '[[part]]\nref = "L9"\nkind = "link"\njoins = ["mains.live", "mains.neutral"]'


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (with_part(LINK), "winding-shorted"),
        (GUIDE.replace('value = "3k3"', 'value = "three"', 1), "unreadable-figure"),
    ],
)
def test_no_powered_figure_is_given_of_a_shorted_supply_or_without_one_of_its_parts(text, code):
    figures = compute(content(tomllib.loads(text)), samples=100)["checks"]
    reason = figures["valves-in/v-first"]["reason"]
    assert reason["params"]["because"]["code"] == code and "value" not in figures["valves-in/v-first"]
    assert remark_sentence(reason).startswith("Not calculated")
    assert figures["pre-power/o-v1-7"]["value"] > 0  # with the power off it bears on nothing there


def test_an_unreadable_part_silences_the_readings_that_go_through_it_and_no_other():
    """R1 is the first smoothing resistor: the can's far end is read through it, a grid is not."""
    figures = compute(content(tomllib.loads(GUIDE.replace('value = "3k3"', 'value = "three"', 1))), samples=100)[
        "checks"
    ]
    assert all(
        figures[name]["reason"]["params"]["because"]["code"] == "unreadable-figure"
        for name in ("supply/chain", "pre-power/o-v1-6", "pre-power/o-v1-1")
    )
    assert all(figures[name]["value"] > 0 for name in ("pre-power/o-v1-7", "pre-power/o-v1-8", "supply/bleeder"))


def test_a_part_that_names_no_nodes_silences_every_ohmmeter_reading():
    figures = compute(
        content(tomllib.loads(GUIDE.replace('joins = ["ht.first", "ht.second"]', "joins = 3", 1))), samples=100
    )["checks"]
    assert "value" not in figures["pre-power/o-v1-7"]


@pytest.mark.lengthy
def test_a_heater_on_twice_its_volts_is_warned_of_at_its_valve():
    """12.6 V on heaters for 6.3 V, and nobody said a word: any heater more than a tenth off is a warning."""
    text = GUIDE.replace('volts = "6.3 V"', 'volts = "12.6 V"')
    assert text != GUIDE
    warnings = circuit_warnings(text.encode())
    heaters = [w for w in warnings if "6.3 V" in w.message and "heater" in w.message]
    assert {w.line for w in heaters} >= {line_of(text, 'ref = "V1"') - 1}


UNFINISHED = '[[part]]\nref = "R90"\nkind = "resistor"\nvalue = "10k"'


def test_a_circuit_that_is_not_wired_yet_comes_in_with_warnings():
    text = with_part(UNFINISHED)
    assert read_guide(text.encode())["kit"]["key"] == "line-preamp"
    assert any("R90" in problem.message for problem in circuit_warnings(text.encode()))


@pytest.mark.lengthy
def test_a_part_of_no_circuit_excuses_nothing():
    """A screw joins nothing in any kit: what is wrong with the circuit beside it stays a refusal."""
    text = with_part('[[part]]\nref = "H90"\nkind = "hardware"').replace('a.grid = "7", ', "", 1)
    assert refusal(text)
