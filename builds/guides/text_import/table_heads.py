"""The head of a table of readings: what each column holds, by its name, else by its cells."""

import re

from builds.guides.text_import.pin_charts import PIN, VALVE

_VOLTS = r"(?:[ad]c )?(?:volts?|voltages?)(?:,? [ad]c)?|v(?:olts)?[ ,]?[ad]c|[ad]c"
_TIP = r"(?: ?(?:probe|lead|tip|clip|(?:prüf)?spitze|kabel|leitung))?"
HEADS = (
    ("red", rf"rote?{_TIP}|red{_TIP}|\+{_TIP}|plus(?:probe|spitze)?"),
    ("valve", r"valves?|tubes?|ref\.?|röhren?|(?:valve |tube |röhren)?(?:sockets?|fassung(?:en)?)|sockel"),
    ("point", r"(?:(?:test|measur(?:ing|ement)|check) ?)?points?|where|pins?|probe|between|across|"
              r"measured? (?:at|where)|node|location|me(?:ss|ß)punkte?|me(?:ss|ß)stellen?|me(?:ss|ß)(?:ung )?an|"
              r"wo(?: (?:zu )?messen)?|zwischen|stelle|place"),
    ("black", rf"(?:black|schwarze?){_TIP}|-{_TIP}|−{_TIP}|to|and|und|against|reference|gegen"),
    ("expected", r"(?:expected?|typical|usual|normal|should be|good)(?: value| reading| voltage)?|figure|value|"
                 rf"(?:prototype|measured)(?: value| reading)?|reading|{_VOLTS}|ohms?|resistance|"
                 r".*\bshould (?:read|see|be|show)|"
                 r".*\bok(?:ay)?(?:,? (?:if|wenn))?|gut(?:,? wenn)?|in ordnung(?:,? wenn)?|"
                 r"soll(?:wert)?|me(?:ss|ß)wert|richtwert|spannung|widerstand|nominal"),
    ("low", r"min(?:imum)?\.?|low(?:er|est)?(?: limit)?|from|von|mind(?:estens)?\.?"),
    ("high", r"max(?:imum)?\.?|high(?:er|est)?|upper(?: limit)?|bis|höchst(?:ens)?\.?"),
    ("band", r".*\bok(?:ay)?(?:,? (?:if|wenn))?|(?:gut|in ordnung)(?:,? wenn)?|"
             r"tol(?:erance|eranz)?\.?|band|±|\+/-|range|acceptable(?: range)?|limits|"
             r"zulässig(?:er bereich|e werte)?|erlaubt|allowed|permitted|"
             r"(?:zul(?:ässige)?\.? )?abw(?:eichung)?\.?|bereich|grenzen"),
    ("stop", r"stop(?: (?:limit|above|at))?|switch off(?: (?:above|at|if over))?|abort|danger|limit|grenze|"
             r".*\bstop\b.*|.*\b(?:switch|turn|power) off\b.*|aus(?:schalten)? (?:ab|bei|über)|"
             r".*\b(?:ab|aus)schalt\w*\b.*|grenzwert|abbruch\b.*|stopp?\b.*|gefahr|not-?aus\b.*|trip|"
             r"(?:darf )?(?:nie|nicht) (?:über|mehr als)|(?:never|not) (?:above|over|more than)"),
    ("measure", r"meter(?: on| setting| range)?|function|measure(?:ment)?|mode|setting|"
                r"me(?:ss|ß)art|me(?:ss|ß)bereich"),
    ("title", r"test|check|what|name|prüfung|messung|was"),
    ("note", r"notes?|remarks?|comments?|bemerkung(?:en)?|anm(?:erkung(?:en)?)?\.?|hinweise?"),
)  # fmt: skip
FIGURES = frozenset({"expected", "low", "high"})
TITLES = 3  # rows of a table searched for its head
SURE = 0.6  # of the filled cells, that must look alike for a column to be known by them
_UNIT = r"(?P<unit>[kMmµ]?(?:V|Ω|A|ohms?)|volts?|%)\s*(?:AC|DC)?"
_UNIT_OF_HEAD = re.compile(rf"(?:\s*[,/]\s*|\s+in\s+|\s+(?=[kMmµ]?[VΩA%]\b|[kMmµ]?[VΩA%]$)){_UNIT}\s*$")
_UNIT_IN_BRACKETS = re.compile(rf"[\[(]\s*{_UNIT}\s*[\])]")
_POINT = re.compile(
    rf"\b{VALVE}[a-z]?\b\W{{0,3}}(?:[a-z]* ?{PIN})?\s*\d{{1,2}}\b|\b{PIN}\s*\d|"
    r"\b[CDRL]\d{1,3}\s?(?:\+|-|−|–|plus|minus)|"
    r"\b(?:across|über)\s+R\d|\bB\+|\bHT\b|\bheaters?\b|\bheizung|\b(?:V|Rö|Roe)\d{1,2}[a-z]?\s+(?:anode|[ck]ath?ode?|grid|screen|gitter)|"
    r"\b(?:to|gegen) (?:the )?(?:chassis|masse|earth)\b",
    re.IGNORECASE,
)
_CHASSIS = re.compile(r"(?:the )?(?:chassis|ground|earth|gnd|masse|0 ?v)\b", re.IGNORECASE)
_FIGURE = re.compile(
    r"(?:(?:climb|rise|settle|charge|steig|read)\w*\b.{0,20}?\b(?:to|at|auf|bei)\s+)?"
    r"(?:ca\.?|etwa|about|approx\.?|around|≈|~|[<>≤≥]|more than|less than|mehr als|weniger als|"
    r"over|below|min\.?|max\.?)?"
    r"\s*[-+−]?\s*\d+(?:[.,]\d+)?\s*(?:[pnuµmkM]?\s*(?:V|A|Ω|ohms?|volts?)(?:[ad]c)?|[kM])\b.*",
    re.IGNORECASE,
)
_BAND = re.compile(r"(?:±|\+/-)\s*\d.*", re.IGNORECASE)


def list_columns(head) -> list[str]:
    """What each column holds by its name; no "point" or figure among them: no table of readings by its head."""
    names: list[str] = []
    for cell in head:
        heading = _UNIT_OF_HEAD.sub("", re.sub(r"\s*[\[(].*?[\])]", "", cell).strip(" *:")).lower()
        name = next((n for n, pattern in HEADS if n not in names and re.fullmatch(pattern, heading)), "")
        names.append(name)
    if "red" in names:
        names = ["title" if name == "point" else "point" if name == "red" else name for name in names]
    return names


def find_head(rows) -> int | None:
    """Which row is the head: the first, or one below a title in merged cells. None: no table of readings."""
    for n, row in enumerate(rows[:TITLES]):
        columns = columns_in(rows[n:]) if n + 1 < len(rows) else []
        if "point" in columns and FIGURES & {*columns}:
            return n
        if len({cell for cell in row if cell.strip()}) > 1:
            return None
    return None


def columns_in(rows) -> list[str]:
    """What each column of a table holds, whose first row is its head."""
    names, body = list_columns(rows[0]), [row for row in rows[1:] if len({*row}) > 1]
    if not body or any(map(_FIGURE.fullmatch, rows[0])):
        return names
    cells = [[row[n].strip() for row in body if n < len(row) and row[n].strip()] for n in range(len(names))]
    _correct_ends(names, cells)
    _correct_measure(names, cells)
    for n, column in enumerate(cells):
        if not names[n] and column:
            names[n] = _by_cells(column, names)
    if "point" not in names and "title" in names and any(map(_is_point, cells[names.index("title")])):
        names[names.index("title")] = "point"
    if names[0] == "" and "point" in names and "title" not in names:
        names[0] = "title" if _share(cells[0], lambda cell: bool(re.search(r"[^\W\d]{2}", cell))) else ""
    return names


def _correct_ends(names: list[str], cells) -> None:
    """ "From" and "To" are two points where pins stand below them."""
    if "point" not in names and "low" in names and _share(cells[names.index("low")], _is_point):
        names[names.index("low")] = "point"
        if "high" in names:
            names[names.index("high")] = "black"


def _correct_measure(names: list[str], cells) -> None:
    """ "Measure" is the name of each reading where nothing below it is a function of a meter."""
    if "measure" not in names:
        return
    column = cells[names.index("measure")]
    if "point" not in names and _share(column, _is_point):  # "C1+ to C2+", before its digits look like a range
        names[names.index("measure")] = "point"
    elif _share(column, lambda cell: bool(re.search(r"[^\W\d]{3}", cell))) and not _share(column, _is_function):
        named = "point" if "point" not in names and _share(column, _is_point) else "title"
        names[names.index("measure")] = named


def _by_cells(column: list[str], names: list[str]) -> str:
    tests = (
        ("point", _is_point),
        ("expected", lambda cell: _FIGURE.fullmatch(cell) is not None),
        ("band", lambda cell: _BAND.fullmatch(cell) is not None),
        ("black", lambda cell: _CHASSIS.match(cell) is not None),
    )
    return next((name for name, fits in tests if name not in names and _share(column, fits)), "")


def _share(column: list[str], fits) -> bool:
    return bool(column) and sum(map(fits, column)) >= SURE * len(column)


def _is_point(cell: str) -> bool:
    return _POINT.search(cell) is not None


def _is_function(cell: str) -> bool:
    return (
        re.search(r"\b[ad]c\b|volts?|ohms?|\d+ ?[kM]?\b|Ω|resist|contin|isolat|spannung|widerstand|=|~", cell, re.I)
        is not None
    )


def unit_of_head(head: str) -> str:
    """The unit that the head of a column gives: "Expected (V)", "Min, kΩ", "Limit in mV"."""
    match = _UNIT_IN_BRACKETS.search(head) or _UNIT_OF_HEAD.search(head.strip(" *:"))
    return ("V" if match["unit"].lower().startswith("volt") else match["unit"]) if match else ""
