"""The entries of the table where no band of the guide judges them: on the kit's own test pieces, which say whether the
meter is right, and at the points that a diagnosis asks for. Nobody's doubt calls a meter right, and what is kept is
what was meant, by a reader of entries that shares no code with the project.

The meter is the table's: ±(1 % + 3 digits) on ohms, ±(0.5 % + 3 digits) on DC volts.
"""

import pytest

from builds.bench.readings import extras, self_checks
from checks.entry import choose_unit
from checks.errors import ChecksError
from checks.quantity import Tolerance
from checks.selfcheck import Piece, Trim
from tests.dangers import table
from tests.dangers.driving import METER
from tests.dangers.oracle import meanings
from tests.dangers.test_every_way_in import NUMBERS, WITH_UNITS

ENTRIES = sorted({cell.typed for cell in table.typed_cells()} | {*NUMBERS, *WITH_UNITS})
# Piece, and the share of its value that its own tolerance, the meter's per cent and three plain digits come to.
PIECES = {
    "100k": (Piece("resistance", 100e3, Tolerance(0.01, 0.01)), 0.025),
    "310R": (Piece("resistance", 310.0, Tolerance(0.01, 0.01)), 0.025),
    "1k": (Piece("resistance", 1e3, Tolerance(0.01, 0.01)), 0.025),
    "1.6 V": (Piece("dc volts", 1.6, Tolerance(0.04, 0.04)), 0.07),
    "9 V": (Piece("dc volts", 9.0, Tolerance(0.05, 0.05)), 0.09),
}
BUTTONS = {"Ω": ("", "Ω", "kΩ", "MΩ"), "V": ("", "V", "mV")}


def in_unit(typed: str, button: str, unit: str) -> str | None:
    """What the forms make of an entry; None where they ask for the unit or refuse."""
    try:
        return choose_unit(typed.strip(), button, unit, None, "V" if unit == "V" else "")
    except ChecksError:
        return None


def found_on(piece, typed, button) -> Trim | None:
    """The finding; None where the entry is refused or asked about."""
    text = in_unit(typed, button, "Ω" if piece.function == "resistance" else "V")
    if text is None:
        return None
    try:
        asks = self_checks.likely_typing_error(piece, text, METER)
        return None if asks else self_checks.judge(text, piece, METER).trim
    except ChecksError:
        return None


@pytest.mark.parametrize("name", PIECES)
def test_no_entry_calls_a_meter_right_whose_reading_may_be_wrong(name):
    piece, most = PIECES[name]
    unit = "Ω" if piece.function == "resistance" else "V"
    wrong, right = [], 0
    for typed in ENTRIES:
        for button in BUTTONS[unit]:
            if found_on(piece, typed, button) is not Trim.OUT_OF_TRIM and found_on(piece, typed, button):
                pressed = button or ("V" if unit == "V" else "")
                meant = meanings(typed, pressed, unit)
                right += 1
                if not meant or any(m.over or abs(m.value / piece.value - 1) > most for m in meant):
                    wrong.append((typed, button, meant))
    assert wrong == []
    assert right or name not in ("100k", "310R")  # of the others the table has no good reading


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("1.6 V", "2"),
        ("1.6 V", "1.6"),
        ("1.6 V", "1"),
        ("9 V", "9"),
        ("100k", "100k"),
        ("100k", "0.1 MΩ"),
        ("1k", "1k"),
    ],
)
def test_digits_left_off_are_asked_for_and_call_no_meter_right(name, typed):
    with pytest.raises(ChecksError) as asked:
        self_checks.judge(typed, PIECES[name][0], METER)
    assert asked.value.code in ("digits", "lone-one")


@pytest.mark.parametrize(
    ("name", "typed", "trim"),
    [
        ("1.6 V", "1.612", Trim.IN_TRIM),
        ("9 V", "9.05", Trim.IN_TRIM),
        ("100k", "99.8k", Trim.IN_TRIM),
        ("1k", "1.002k", Trim.IN_TRIM),
        ("1.6 V", "1.85", Trim.OUT_OF_TRIM),
        ("100k", "104.2k", Trim.OUT_OF_TRIM),
    ],
)
def test_every_digit_of_the_display_is_judged(name, typed, trim):
    result = self_checks.judge(typed, PIECES[name][0], METER).trim
    assert result is trim or (trim is Trim.IN_TRIM and result is Trim.TOO_CLOSE)


def test_a_battery_the_wrong_way_round_asks_for_the_probes_and_blames_no_meter():
    for typed in ("-1.612", "−1.612 V"):
        with pytest.raises(ChecksError) as asked:
            self_checks.judge(typed, PIECES["1.6 V"][0], METER)
        assert asked.value.code == "swapped"


def test_what_is_kept_of_an_extra_reading_is_what_was_meant():
    wrong, kept = [], 0
    for typed in ENTRIES:
        for button in BUTTONS["Ω"]:
            text = in_unit(typed, button, "Ω")
            try:
                measured = extras.read_ohms(text, METER) if text else None
            except ChecksError:
                continue
            if measured is not None:
                kept += 1
                meant = meanings(typed, button, "Ω")
                if measured.over_range:
                    good = bool(meant) and all(m.over > 0 for m in meant)
                else:
                    good = bool(meant) and all(m.value == pytest.approx(measured.value) for m in meant)
                if not good:
                    wrong.append((typed, button, measured.value, meant))
    assert wrong == []
    assert kept > 100


@pytest.mark.parametrize("typed", ["1", "1 kΩ", "-3", "−OL", "1m", "12 V", "12 kΩ AC", "4k7 5k6"])
def test_an_extra_reading_that_no_ohmmeter_shows_is_refused(typed):
    text = in_unit(typed, "", "Ω")
    if text is not None:
        with pytest.raises(ChecksError):
            extras.read_ohms(text, METER)
