"""Charts of volts at the pins or electrodes of valves, as manuals print them: a row for each pin and a column for each
valve, or the other way round. Each square is a reading."""

import re

PIN = r"(?:pin|stift|sockelstift|kontakt|anschluss|broche)"
VALVE = r"(?:V|Rö|Roe)\d{1,2}"
_PIN = re.compile(rf"(?:{PIN}(?: n[or]\.?)?\s*)?(\d{{1,2}})", re.IGNORECASE)
_VALVE = re.compile(rf"({VALVE}[a-d]?)\b.{{0,30}}", re.IGNORECASE)
_ELECTRODE = re.compile(
    r"(?P<name>anode|plate|a|[ck]ath?ode|k|(?:control |steuer)?(?:grid|gitter)(?: ?1)?|g1?|screen(?: grid)?|"
    r"schirmgitter|g2)\s*(?:[\[(]\s*(?P<unit>[mk]?V)\s*[\])]|/\s*(?P<over>[mk]?V))?",
    re.IGNORECASE,
)
_NAMES = {"a": "anode", "k": "cathode", "g": "grid", "g1": "grid", "g2": "screen"}
_UNIT = re.compile(r"\b([mk]?V)\b")
_NONE = re.compile(r"|[-–—/]+|n\.?\s?c\.?|i\.?\s?c\.?|x", re.IGNORECASE)
HEAD = ("Point", "Expected")
VOLTS = "Expected voltage"  # of electrodes, which have nothing else


def readings_of_chart(rows) -> tuple[tuple[str, ...], ...]:
    """The chart as a table of points and figures; nothing where the rows are no such chart."""
    rows, unit = _without_title(rows)
    if len(rows) < 2 or len(rows[0]) < 2:
        return ()
    across, down = rows[0][1:], [row[0] for row in rows[1:]]
    for places in (_PIN, _ELECTRODE):
        if _all(_VALVE, across) and _all(places, down):
            body = enumerate(across, 1)
            squares = [(valve, place, row[n]) for n, valve in body for place, row in zip(down, rows[1:], strict=True)]
            break
        if _all(places, across) and _all(_VALVE, down):
            squares = [(row[0], place, row[n]) for row in rows[1:] for n, place in enumerate(across, 1)]
            break
    else:
        return ()
    unit = unit or next((m["unit"] or m["over"] or "" for m in map(_electrode, (*across, *down)) if m), "")
    head = HEAD if places is _PIN and not unit else (HEAD[0], f"{VOLTS} [{unit}]" if unit else VOLTS)
    readings = [
        (_point(valve, place), cell.strip()) for valve, place, cell in squares if not _NONE.fullmatch(cell.strip())
    ]
    return (head, *readings) if readings else ()


def _without_title(rows):
    """(the rows from their names on, the unit of a title in merged cells over them): "Voltage [V] to chassis" over
    "Anode" and "Cathode"."""
    if len(rows) > 2 and len({*rows[0][1:]}) == 1 and len({*rows[1][1:]}) > 1:
        unit = _UNIT.search(rows[0][-1])
        return rows[1:], unit[1] if unit else ""
    return rows, ""


def _electrode(cell: str):
    return _ELECTRODE.fullmatch(cell.strip())


def _all(pattern, cells) -> bool:
    return all(pattern.fullmatch(cell.strip()) for cell in cells)


def _point(valve: str, pin: str) -> str:
    named, number, electrode = _VALVE.fullmatch(valve.strip()), _PIN.fullmatch(pin.strip()), _electrode(pin)
    if named and electrode:
        return f"{named[1]} {_NAMES.get(electrode['name'].lower(), electrode['name'])}"
    return f"{named[1]} pin {number[1]}" if named and number else f"{valve} {pin}"
