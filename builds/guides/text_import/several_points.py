"""One row of a table for several points: "V1/V2 pin 7" is a reading at each valve, "V1 pins 1 and 6" one at each pin.
Between two points is read only what says so ("to", "against", a dash), and a heater."""

import re

from builds.guides.text_import.pin_charts import PIN, VALVE

_AND = r"\s*(?:/|,|\+|&|\b(?:and|und|et|u\.))\s*"
_BETWEEN = re.compile(r"\b(?:between|across|zwischen|über)\b", re.IGNORECASE)
_HEATER = re.compile(r"heater|filament|heiz|\bAC\b|V\s*~|wechsel", re.IGNORECASE)
_OWN = rf"{VALVE}[a-d]?(?:[.:-]|\s*{PIN}\s*)\d{{1,2}}"
_EACH_WITH_PIN = re.compile(rf"{_OWN}(?:{_AND}{_OWN})+", re.IGNORECASE)
_VALVES = re.compile(
    rf"(?P<before>.*?)\b(?P<valves>{VALVE}[a-d]?(?:{_AND}{VALVE}[a-d]?)+)\b(?P<behind>(?![.:-]\s*\d).*)", re.IGNORECASE
)
_PINS = re.compile(
    rf"(?P<before>.*\b{VALVE}[a-d]?\b[\s,.:(-]*{PIN}(?:s|e|en)?\s*)(?P<pins>[1-9](?:{_AND}[1-9])+)(?![\w.])"
    r"(?!\s*-\s*pin|\s*[kMmµ]?(?:V|A|W|Ω|min|s)\b)"  # "pin 6, 9-pin socket", "pin 6, 5 V range"
    r"(?P<behind>.*)",
    re.IGNORECASE,
)
_OF_HEATERS = {"4", "5", "9"}  # of a noval base, whatever the words


def points_of(point: str, row_words: str) -> list[str]:
    """The points of a row, each in words of its own. `row_words` are all of the row's, which may say heater or AC."""
    if _BETWEEN.search(point):
        return [point]
    if _EACH_WITH_PIN.fullmatch(point.strip()):
        return re.findall(_OWN, point, re.IGNORECASE)
    if match := _VALVES.fullmatch(point):
        valves = re.findall(rf"{VALVE}[a-d]?", match["valves"], re.IGNORECASE)
        behind = re.sub(r"^\s*,\s*", " ", match["behind"])
        return [p for valve in valves for p in points_of(f"{match['before']}{valve}{behind}", row_words)]
    match = _PINS.fullmatch(point)
    pins = re.findall(r"\d+", match["pins"]) if match else []
    # "4/5 – 9" goes to a third pin.
    is_pair = match and (_HEATER.search(row_words) or {*pins} <= _OF_HEATERS or re.match(r"\s*\W*\d", match["behind"]))
    if not match or is_pair:
        return [point]
    before = re.sub(rf"({PIN})(?:s|e|en)\s*$", r"\1 ", match["before"], flags=re.IGNORECASE)
    return [f"{before}{pin}{match['behind']}" for pin in pins]
