"""Charts of volts at the pins of valves, as manuals print them: a row for each pin and a column for each valve, or the
other way round. Each square is a reading."""

import re

PIN = r"(?:pin|stift|sockelstift|kontakt|anschluss|broche)"
VALVE = r"(?:V|Rö|Roe)\d{1,2}"
_PIN = re.compile(rf"(?:{PIN}(?: n[or]\.?)?\s*)?(\d{{1,2}})", re.IGNORECASE)
_VALVE = re.compile(rf"({VALVE})\b.{{0,30}}", re.IGNORECASE)
_NONE = re.compile(r"|[-–—/]+|n\.?\s?c\.?|i\.?\s?c\.?|x", re.IGNORECASE)
HEAD = ("Point", "Expected")


def readings_of_chart(rows) -> tuple[tuple[str, ...], ...]:
    """The chart as a table of points and figures; nothing where the rows are no such chart."""
    if len(rows) < 2 or len(rows[0]) < 2:
        return ()
    across, down = rows[0][1:], [row[0] for row in rows[1:]]
    if _all(_VALVE, across) and _all(_PIN, down):
        squares = [
            (valve, pin, row[n]) for n, valve in enumerate(across, 1) for pin, row in zip(down, rows[1:], strict=True)
        ]
    elif _all(_PIN, across) and _all(_VALVE, down):
        squares = [(row[0], pin, row[n]) for row in rows[1:] for n, pin in enumerate(across, 1)]
    else:
        return ()
    readings = [(_point(valve, pin), cell.strip()) for valve, pin, cell in squares if not _NONE.fullmatch(cell.strip())]
    return (HEAD, *readings) if readings else ()


def _all(pattern, cells) -> bool:
    return all(pattern.fullmatch(cell.strip()) for cell in cells)


def _point(valve: str, pin: str) -> str:
    named, number = _VALVE.fullmatch(valve.strip()), _PIN.fullmatch(pin.strip())
    return f"{named[1]} pin {number[1]}" if named and number else f"{valve} {pin}"
