"""What the words of a mains transformer's note say of its windings: "250-0-250 V 90 mA, 6.3 V 2 A"."""

import re

_HT = re.compile(r"\b(?P<volts>\d{3})\s*V?\s*[-–]\s*0\s*[-–]\s*(?P=volts)(?!\d)", re.IGNORECASE)
# "2 x 250 V", as most German lists have it
_TWICE = re.compile(r"(?<![\d.,])2\s*[x×*]\s*(?P<volts>\d{3})\s*V(?:AC|~)?(?![\w])", re.IGNORECASE)
_PRIMARY = re.compile(
    r"\b(?:prim(?:ary|är|\.)?|mains|netz(?:seitig)?|line)\b[ .:]{0,3}(?P<volts>\d{3}(?:\s*V?\s*[-/,–]\s*\d{3})*)\s*V",
    re.IGNORECASE,
)
_AMPS = re.compile(r"(?P<amps>\d+(?:[.,]\d+)?)\s*(?P<unit>m?A)\b")
_NEXT = re.compile(r";|,\s")  # where the words go on to the next winding


def guess_transformer(parts: list[dict], refs: dict[str, str]) -> dict[str, str]:
    """{ask: what the note of the block's mains transformer says}; nothing where the words leave a doubt."""
    note = _note(parts, refs)
    windings = [*_HT.finditer(note), *_TWICE.finditer(note)]
    if len(windings) != 1:
        return {}
    guess = {"volts": f"{windings[0]['volts']} V"}
    amps = _AMPS.search(_NEXT.split(note[windings[0].end() :])[0])
    return guess | ({"amps": f"{amps['amps'].replace(',', '.')} {amps['unit']}"} if amps else {})


def primary_volts(note: str) -> list[float]:
    """The volts that a note gives for the primary: "Primary 120 V, 60 Hz", "prim. 115/230 V"."""
    match = _PRIMARY.search(note)
    return [float(volts) for volts in re.findall(r"\d{3}", match["volts"])] if match else []


def guess_heater_amps(parts: list[dict], refs: dict[str, str], volts: str) -> dict[str, str]:
    """The current that the note gives after the volts of this heater winding; nothing where two have the same."""
    number = re.escape(volts.removesuffix(" V")).replace(r"\.", "[.,]")
    currents = (
        re.findall(rf"(?<![\d.,]){number}\s*V?\s*[/,x×@ ]?\s*(\d+(?:[.,]\d+)?)\s*A\b", _note(parts, refs))
        if volts
        else []
    )
    return {"amps": f"{currents[0].replace(',', '.')} A"} if len(currents) == 1 else {}


def _note(parts: list[dict], refs: dict[str, str]) -> str:
    row = next((row for row in parts if row["ref"] == refs.get("transformer")), None)
    return str(row.get("note", "")) if row and row["kind"] == "mains transformer" else ""
