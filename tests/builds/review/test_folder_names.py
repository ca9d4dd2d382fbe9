"""Which build a file of a folder is of, by its name alone."""

from types import SimpleNamespace

import pytest

from builds.review.amplifier.folder import builds_named


@pytest.mark.parametrize(
    ("name", "serials", "named"),
    [
        ("FW-016-tone.flac", ("FW-001", "FW-016"), ["FW-016"]),
        ("fw-016tone.wav", ("FW-001", "FW-016"), ["FW-016"]),
        ("take 21.wav", ("2", "1"), []),
        ("12 tone.wav", ("1", "2", "12"), ["12"]),
        ("FW-0160.wav", ("FW-016",), []),
        ("XFW-01.wav", ("FW-01",), []),
        ("B-07 sweep.wav", ("07", "B-07"), ["B-07"]),
        ("B-07 and 07.wav", ("07", "B-07"), ["07", "B-07"]),
        ("07 against 08.wav", ("07", "08"), ["07", "08"]),
        ("07_07.wav", ("07",), ["07"]),
        ("tone.wav", ("07",), []),
    ],
)
def test_a_build_is_named_by_its_whole_serial_number(name, serials, named):
    found = builds_named(name, [SimpleNamespace(serial=serial) for serial in serials])
    assert sorted(build.serial for build in found) == named
