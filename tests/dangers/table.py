"""What a measurement engineer accepts of an entry in the reading field, cell by cell.

`typed_entries.csv`    one entry a line, one column a check: the builder types and presses no unit button.
`pressed_entries.csv`  one check, one pressed unit button and one entry a line.

Both are worked out from the figures and the meter below, not from the code of the site.

The checks

    earth        resistance     at most 500 mΩ
    r100k        resistance     100 kΩ ± 10 %
    winding      resistance     9 Ω to 15 Ω
    insulation   resistance     at least 20 MΩ
    bplus        DC volts       285 V to 335 V, switch off above 400 V
    grid         DC volts       -500 mV to +300 mV
    heater       AC volts       6.0 V to 6.6 V, switch off above 7.5 V
    bias         DC volts       -34 V to -28 V, switch off above -20 V (a lost bias)

The meter, a common handheld (figures of the kind data sheets print; common practice): 6000 counts, ranging by itself,
±(0.5 % + 3 digits) on DC volts, ±(1 % + 3 digits) on AC volts and ohms, 10 MΩ input. Ranges 600.0 mV to 1000 V and
600.0 Ω to 60.00 MΩ: an ohm is shown to a tenth, a heater to a hundredth of a volt, and nothing in milliohms,
kilovolts or microvolts.

The outcomes

    pass         in band, and the meter can tell
    too_close    in band by the figure, but nearer a limit than the meter can tell (ISO 14253-1: the doubt counts
                 against a pass)
    out          out by the figure as typed; no uncertainty brings it back in
    stop         past the stop limit: switch off, and no question before it
    ask_digits   the meter shows more digits and they decide: type all of them. Typing the same again never passes.
    ask_unit     the unit is missing where another unit of the meter would be judged differently, or typed and pressed
                 units differ, or a lower-case m is typed with ohms
    ask_sure     a slip of a thousand is asked about first; never where the band spans zero, never where the figure is
                 a plausible fault, never with the passing answer as the prominent one
    refuse       cannot be read: nothing is kept, and the field says what is accepted

A cell may name several outcomes where reasonable engineers differ, the preferred one first. `pass` shares a cell only
where the other outcome is mere caution: a question or a refusal where the reading is good by every sensible
understanding of the entry, or a choice of decision rule or of range that the reason gives. `out` shares a cell with a
question where every understanding is out.

The rules behind the cells

1. Stop wins. Where every unit of the meter puts the entry past the stop, or the check's own does and the other is
   out, it stops.
2. Doubt never becomes a pass: an entry that can be read in two ways passes only if both pass.
3. Ohms: a bare number is judged in ohms, kilohms and megohms; if any of them passes, the unit is asked. A good 100 k
   and a 100 ohm resistor in its place show the same digits, and so do a good earth and an open one: no button may be
   pressed beforehand.
4. Volts: the field says volts. A bare number may be taken as volts where the same digits in millivolts would be a
   mere coincidence (B+, heater). It may not at the bias, where -30 mV is a lost bias, nor at the grid, where both
   units are usual.
5. Lower-case m with Ω is asked about, everywhere: phones write it for M, this meter cannot resolve a milliohm, and 1
   MΩ on an earth bond is an open one. The exception that may be defended: hundreds of mΩ, written in full, on the
   check the guide has in milliohms, since 100 MΩ and more are past the meter's top range.
6. A digit left out may ask for digits, where it could reach a limit; it neither widens a pass nor excuses what is
   out.
7. OL is "above the range": open for ohms, a pass for "at least" when on the megohm range, a stop for volts with a
   stop above. It is never the figure 0. The same on a kilohm or ohm range says nothing about 20 MΩ.
8. A sign is never dropped: swapped leads are out, or a stop.
9. Letters, doubts, two numbers, superscripts and other scripts' tricks are refused, never half read. Digits of other
   scripts that mean one digit may be read.

In the files `\\uXXXX` stands for a character that would not be seen, `{9x4000}` for a character repeated.
"""

import csv
import re
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent
CHECKS = ("earth", "r100k", "winding", "insulation", "bplus", "grid", "heater", "bias")
OUTCOMES = {"pass", "too_close", "out", "stop", "ask_digits", "ask_unit", "ask_sure", "refuse"}


@dataclass(frozen=True)
class Cell:
    """One entry on one check. `button` is None where the builder presses none."""

    check: str
    typed: str
    wanted: tuple[str, ...]
    button: str | None = None
    reason: str = ""


def typed_cells() -> list[Cell]:
    """The entries without a button, eight cells a line."""
    return [
        Cell(check, _unescaped(row["typed"]), _outcomes(row[check]), reason=row["reason"])
        for row in _rows("typed_entries.csv")
        for check in CHECKS
    ]


def pressed_cells() -> list[Cell]:
    """The entries with a button pressed."""
    return [
        Cell(row["check"], _unescaped(row["typed"]), _outcomes(row["wanted"]), row["button"], row["reason"])
        for row in _rows("pressed_entries.csv")
    ]


def _rows(name: str) -> list[dict]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _outcomes(text: str) -> tuple[str, ...]:
    result = tuple(text.split("|"))
    unknown = set(result) - OUTCOMES
    if unknown:
        raise ValueError(f"Not an outcome: {unknown}")
    return result


def _unescaped(text: str) -> str:
    text = re.sub(r"\\u([0-9a-f]{4})|\\U([0-9a-f]{8})", lambda found: chr(int(found[1] or found[2], 16)), text)
    return re.sub(r"\{(.)x(\d+)\}", lambda found: found[1] * int(found[2]), text)
