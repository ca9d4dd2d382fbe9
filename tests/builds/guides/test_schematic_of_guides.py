"""Guides that were written for other tests, and both demo guides, drawn and traced back."""

import tomllib
from pathlib import Path

import pytest

from builds.guides.wiring.components import list_components
from checks.schematic import draw
from tests.checks.schematic.tracing import faults_of, traced, wired

ROOT = Path(__file__).resolve().parents[3]
GUIDES = sorted([*ROOT.glob("builds/guides/demo/*/guide.toml"), *ROOT.glob("tests/trials/guides/*.toml")])


@pytest.mark.lengthy
@pytest.mark.parametrize("path", GUIDES, ids=lambda path: path.parent.name + "/" + path.stem)
def test_a_guide_is_drawn_as_its_parts_list_says(path):
    components = list_components(tomllib.loads(path.read_text(encoding="utf-8"))["part"])
    schematic = draw(components)
    drawn = [part for part in components if part.ref not in schematic.left_out]
    assert traced(schematic) == wired(drawn)
    assert faults_of(schematic) == []
    keys = [symbol.unit.key for section in schematic.sections for symbol in section.symbols]
    assert len(keys) == len(set(keys))
    assert {ref for ref, _name in keys} == {part.ref for part in drawn}
    assert all(
        part.kind in ("hardware", "test resistor", "test battery") or not any(part.joins.values())
        for part in components
        if part.ref in schematic.left_out
    )


def test_words_beside_a_symbol_are_those_of_the_parts_list():
    rows = [
        {"ref": "C1", "kind": "electrolytic", "value": "47u", "volts": "450 V", "joins": ["ht", "chassis"]},
        {"ref": "D1", "kind": "diode", "type": "red LED", "joins": {"anode": "k", "cathode": "chassis"}},
        {"ref": "J2", "kind": "connector", "note": "Loudspeaker jack", "joins": {"tip": "k", "sleeve": "chassis"}},
    ]
    can, led, jack = list_components(rows)
    assert can.captions == ("47µ", "450 V")
    assert (led.form, jack.form) == ("led", "speaker")
    assert list_components([rows[0] | {"kind": "capacitor", "note": "speaker"}])[0].form == ""
