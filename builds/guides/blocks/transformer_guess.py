"""What the words of a mains transformer's note say of its HT winding: "250-0-250 V 90 mA"."""

import re

_HT = re.compile(r"\b(?P<volts>\d{3})\s*V?\s*[-–]\s*0\s*[-–]\s*(?P=volts)(?!\d)", re.IGNORECASE)
_AMPS = re.compile(r"(?P<amps>\d+(?:[.,]\d+)?)\s*(?P<unit>m?A)\b")
_NEXT = re.compile(r";|,\s")  # where the words go on to the next winding


def guess_transformer(parts: list[dict], refs: dict[str, str]) -> dict[str, str]:
    """{ask: what the note of the block's mains transformer says}; nothing where the words leave a doubt."""
    row = next((row for row in parts if row["ref"] == refs.get("transformer")), None)
    note = str(row.get("note", "")) if row and row["kind"] == "mains transformer" else ""
    found = [*_HT.finditer(note)]
    if len(found) != 1:
        return {}
    guess = {"volts": f"{found[0]['volts']} V"}
    amps = _AMPS.search(_NEXT.split(note[found[0].end() :])[0])
    return guess | ({"amps": f"{amps['amps'].replace(',', '.')} {amps['unit']}"} if amps else {})
