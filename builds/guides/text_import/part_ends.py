"""Ends of parts as the words of a guide name them: "C1 +", "plus of C1", "V2 cathode", "V1a anode"."""

import re

from builds.guides.wiring.ends import End, list_ends

_SIGN = r"(?P<sign>\+|plus|positive|pos\.?|-|−|–|minus|negative|neg\.?)(?:[ -]?(?:end|pole|lead|side|terminal|pol))?"
_PLACE = r"(?P<place>anodes?|plates?|[ck]ath?ode[ns]?|screens?(?: grid)?|g2|schirmgitter|grids?|g1|(?:steuer)?gitter)"
_PART = r"(?P<ref>[A-Za-zÄÖÜäöü]{1,4}\d{1,3})"
_OF = r"\s*(?:of|von|an|at)?\s*"
_FORMS = tuple(
    re.compile(form, re.IGNORECASE)
    for form in (
        rf"{_PART}[\s,(]*{_SIGN}\)?",
        rf"\(?{_SIGN}\)?{_OF}{_PART}",
        rf"{_PART}\s?(?P<section>[ab]?)[\s,(]*{_PLACE}\)?",
        rf"{_PLACE}{_OF}{_PART}\s?(?P<section>[ab]?)",
    )
)
_SIGNS = {"+": "plus", "p": "plus", "-": "minus", "−": "minus", "–": "minus", "m": "minus", "n": "minus"}
_ELECTRODES = (
    ("anode", r"anode|plate"),
    ("cathode", r"[ck]ath?ode"),
    ("screen", r"screen|g2|schirm"),
    ("grid", ""),
)


def is_end_of_part(text: str) -> bool:
    """Are these the words of one end, and nothing else: "C1+", "V2 cathode"?"""
    return any(form.fullmatch(text.strip()) for form in _FORMS)


def point_named(text: str, parts: list[dict]) -> str:
    """The pin, or the point that something is wired to, that the words name; "" where they could mean another."""
    match = next(filter(None, (form.fullmatch(text.strip()) for form in _FORMS)), None)
    if match is None:
        return ""
    row = next((row for row in parts if row["ref"].lower() == match["ref"].lower()), None)
    meant = (
        [end for end in list_ends(row) if (end.point or end.pin) and _is_meant(end, match.groupdict())] if row else []
    )
    if len(meant) != 1:
        return ""
    return meant[0].address if meant[0].pin else meant[0].point


def _is_meant(end: End, named: dict) -> bool:
    if named.get("sign"):
        return end.terminal == _SIGNS[named["sign"][0].lower()]
    word = named["place"].lower()
    electrode = next(name for name, pattern in _ELECTRODES if re.match(pattern, word))
    section, _dot, name = end.terminal.rpartition(".")
    return name == electrode and (not named["section"] or section == named["section"].lower())
