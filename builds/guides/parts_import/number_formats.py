"""Numbers as a spreadsheet shows them: 4.7 in a format of `0.0" kΩ"` is read as 4.7 kΩ by whoever made the list.

Formats by ECMA-376, part 1, 18.8.30 and 18.8.31. All figures of a number are kept, however many the format shows.
"""

import re

_PIECES = re.compile(
    r'"(?P<quoted>[^"]*)"|\\(?P<escaped>.)|_.|\*.|\[(?P<bracket>[^\]]*)\]|(?P<general>General|Standard)'
    r"|(?P<digits>[0#?](?:[0#?.,/ ]*[0#?.])?(?P<commas>,*)(?:E[+-][0#?]+)?)|(?P<percent>%)|(?P<other>.)",
    re.IGNORECASE | re.DOTALL,
)
_SECTION = re.compile(r'((?:"[^"]*"|\\.|\[[^\]]*\]|[^;"\\\[])*)(?:;|$)', re.DOTALL)
_CONDITION = re.compile(r"\[\s*(<=|>=|<>|<|>|=)\s*(-?\d+(?:\.\d+)?)\s*\]")
_COMPARE = {
    "<": lambda a, b: a < b,
    "<=": lambda a, b: a <= b,
    ">": lambda a, b: a > b,
    ">=": lambda a, b: a >= b,
    "=": lambda a, b: a == b,
    "<>": lambda a, b: a != b,
}


def shown_number(value: float, number_format: str) -> str:
    """The number with the words, units and thousands of its format."""
    section, value = _section_for(value, number_format or "")
    before, after, scale, seen, is_scientific = "", "", 1.0, False, False
    for match in _PIECES.finditer(section):
        if match["digits"] or match["general"]:
            seen, scale = True, scale / 1000 ** len(match["commas"] or "")
            is_scientific = is_scientific or "E" in (match["digits"] or "").upper()
        elif match["percent"]:
            after, scale = after + "%", scale * 100
        elif seen:
            after += _literal(match)
        else:
            before += _literal(match)
    affixes = f"{before} {after}" if scale == 1 else after
    is_plain = not seen or not re.search(r"[^\W\d_]|%|Ω", affixes)  # signs, brackets and dashes are no unit
    number = _scientific(value) if is_scientific else f"{value * scale:.12g}"
    return number if is_plain and scale == 1 else f"{before}{number}{after}".strip()


def _scientific(value: float) -> str:
    """ "4.00E+07", which `values` then refuses where it may have been typed as 4E7, a code for 4.7 ohms."""
    short = f"{value:.2E}"
    return short if float(short) == value else f"{value:.12g}"


def _literal(match) -> str:
    if match["bracket"] is not None:  # of a currency, "[$€-407]"; a colour or a country says nothing
        return match["bracket"][1:].split("-")[0] if match["bracket"].startswith("$") else ""
    return match["quoted"] or match["escaped"] or (match["other"] or "").replace("@", "")


def _section_for(value: float, number_format: str) -> tuple[str, float]:
    """The part of a format that holds for a number, by its condition, else by its sign; and what it shows."""
    sections = [match[1] for match in _SECTION.finditer(number_format)][:4]
    rest = []
    for section in sections:
        condition = _CONDITION.search(section)
        if not condition:
            rest.append(section)
        elif _COMPARE[condition[1]](value, float(condition[2])):
            return _CONDITION.sub("", section), value
    if value < 0 and len(rest) == len(sections) > 1 and rest[1]:
        return rest[1], -value  # which has its own sign
    return (rest[0] if rest else ""), value
