"""Entries on checks that the first table lacks: an anode and a discharge without a stop limit, a transformer's AC
volts, a supply below zero with a stop below it, a current across a resistor, a choke, an isolation, a temperature.

`more_entries.txt` names the outcomes that an engineer accepts of each, by letters; the meter is that of table.py.
"""

from pathlib import Path

import pytest

from builds.bench.readings.context import build_context
from tests.dangers import driving, table
from tests.factories import make_revision

pytestmark = pytest.mark.django_db
R10 = {"ref": "R10", "kind": "resistor", "value": "10R", "tolerance": "1%"}
FIGURES = {
    "anode": {"measure": "dc volts", "low": "190 V", "high": "230 V"},
    "ht_ac": {"measure": "ac volts", "low": "290 V", "high": "310 V", "stop_above": "350 V"},
    "neg": {"measure": "dc volts", "low": "-92 V", "high": "-78 V", "stop_below": "-110 V"},
    "cur": {"measure": "current", "through": "R10", "expected": "45 mA", "band": "10%", "stop_above": "65 mA"},
    "disc": {"measure": "dc volts", "at_most": "10 V"},
    "choke": {"measure": "resistance", "low": "75 Ω", "high": "110 Ω"},
    "iso": {"measure": "isolation", "at_least": "5 MΩ"},
    "temp": {"measure": "temperature", "at_most": "60 °C"},
}
LETTERS = {
    "p": "pass",
    "c": "too_close",
    "o": "out",
    "s": "stop",
    "d": "ask_digits",
    "u": "ask_unit",
    "a": "ask_sure",
    "r": "refuse",
}


def rows() -> list[list[str]]:
    lines = (Path(__file__).parent / "more_entries.txt").read_text(encoding="utf-8").splitlines()
    return [line.split("|") for line in lines if not line.startswith("#")]


@pytest.fixture
def bench(monkeypatch):
    monkeypatch.setattr(driving, "FIGURES", FIGURES)
    monkeypatch.setattr(driving.factories, "make_revision", lambda **more: make_revision(parts=(R10,), **more))
    build, checks = driving.make_bench()
    contexts = {row.pk: build_context(build, row, None) for row in checks.values()}
    monkeypatch.setattr(driving, "build_context", lambda _build, row, _mains: contexts[row.pk])
    return build, checks


def test_the_table_is_complete():
    assert len(rows()) >= 200 and all(len(row) == 1 + len(FIGURES) for row in rows())
    assert all(cell and set(cell) <= set(LETTERS) for row in rows() for cell in row[1:])
    assert len({row[0] for row in rows()}) == len(rows())
    assert not any("p" in cell and {"o", "s"} & set(cell) for row in rows() for cell in row[1:])


@pytest.mark.lengthy
def test_every_entry_has_an_outcome_that_an_engineer_accepts(bench):
    build, checks = bench
    assert set(LETTERS.values()) == table.OUTCOMES
    wrong = []
    for typed, *cells in rows():
        for key, wanted in zip(FIGURES, cells, strict=True):
            got = driving.answer(build, checks[key], typed)
            if got not in {LETTERS[letter] for letter in wanted}:
                wrong.append(f"{key} {typed!a}: wanted {wanted}, got {got}")
    assert not wrong, "\n".join(wrong)
