"""Semiconductors of a parts list by their types: never a Zener as a rectifier, an npn as a pnp, a type as its volts.

Pro Electron's code (BZX85C12 is 12 V, C5V1 is 5.1 V) and JIS C 7012 (2SA is pnp, 2SC npn, 2SJ p-channel, 2SK n-channel)
as published; single types from their makers' sheets, from memory.
"""

import pytest

from builds.guides.parts_import.columns import guess
from builds.guides.parts_import.sheet import read_text
from builds.guides.parts_import.table import read_table


def read(*rows):
    sheet = read_text("\n".join(("Ref;Value;Note", "R99;1k;", *rows)))
    table = read_table(sheet.rows, *guess(sheet.rows))
    return {part["ref"]: part for part in table.parts}, [(error.ref, error.field) for error in table.errors]


@pytest.mark.parametrize(
    ("row", "kind", "value"),
    [
        ("D1;BZX85C12;", "zener", "12 V"),
        ("D1;BZX79-C5V1;", "zener", "5.1 V"),
        ("D1;BZY97C51;51 V", "zener", "51 V"),
        ("D1;ZPD 5,1;", "zener", "5,1"),
        ("D1;ZD 12 V;", "zener", "12 V"),
        ("D1;Z-Diode 12 V;", "zener", "12 V"),
        ("D1;B250C1500;", "bridge", None),
        ("GL1;B250C1500;", "bridge", None),
        ("D1;1N4007;", "diode", None),
        ("D1;BAT85;", "diode", None),
        ("T1;BC547B;", "npn transistor", None),
        ("T1;BC557B;", "pnp transistor", None),
        ("Q1;BC550C;", "npn transistor", None),
        ("Q1;BC556;", "pnp transistor", None),
        ("Q1;TIP42C;", "pnp transistor", None),
        ("Q1;2SA1015;", "pnp transistor", None),
        ("Q1;2SC1815;", "npn transistor", None),
        ("Q1;2SJ103;", "p-channel mosfet", None),
        ("Q1;IRF840;", "n-channel mosfet", None),
        ("Q1;IRF9640;", "p-channel mosfet", None),
        ("T1;Netztrafo 250 V / 80 mA;", "mains transformer", None),
        ("IC1;7812;", "regulator", "12 V"),
        ("U1;L7805CV;", "regulator", "5 V"),
        ("IC1;LM7912;", "negative regulator", "12 V"),
        ("U1;12 V;", "regulator", "12 V"),
        ("IC1;NE5532;", "op-amp", None),
        ("U1;TL072CP;", "op-amp", None),
    ],
)
def test_a_type_gives_the_kind_and_the_volts_written_in_it(row, kind, value):
    parts, errors = read(row)
    assert not errors
    part = parts[row.partition(";")[0]]
    assert (part["kind"], part.get("value")) == (kind, value)


@pytest.mark.parametrize(
    ("row", "field"),
    [
        ("Q1;XYZ123;", "kind"),  # its polarity is anybody's guess
        ("U1;XYZ123;", "kind"),
        ("IC1;LM317T;", "value"),  # adjustable
        ("D1;1N4742A;", "value"),  # a Zener; its volts are not in its name
        ("D1;4x 1N4007;", "value"),
    ],
)
def test_a_type_that_leaves_something_open_is_asked_about(row, field):
    parts, errors = read(row)
    assert set(parts) == {"R99"} and [where for _ref, where in errors] == [field]


def test_four_diodes_of_four_references_are_one_each():
    parts, errors = read("D1-D4;4x 1N4007;")
    assert not errors and [parts[f"D{n}"]["type"] for n in (1, 2, 3, 4)] == ["1N4007"] * 4
