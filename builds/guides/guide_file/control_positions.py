"""Where a guide's words set a control one way and a check's own words another: "volume up", then "volume at half"."""

import re

from django.utils.translation import gettext as _

APART = 0.2  # of the track, from which two positions are not the same
_NAME = r"(?P<name>\b(?:RV|VR|POT)\d{1,3}\b|\b(?:volume|tone|gain|treble|bass|middle control|bias|balance|hum)\b)"
_WHERE = (
    r"(?P<up>\bfull(?:y)?\s+(?:up|on|clockwise|open)\b|\bat\s+full\b|\b(?:to|at)\s+(?:the\s+)?maximum\b|\bfull\b)"
    r"|(?P<down>\bfull(?:y)?\s+(?:down|off|anti-?clockwise|counter-?clockwise)\b|\bdown\b"
    r"|\b(?:to|at)\s+(?:zero|(?:the\s+)?minimum)\b)"
    r"|(?P<half>\bhalf(?:-?way)?(?:\s+up)?\b|\b(?:to|at|in)\s+(?:the\s+)?(?:middle|centre|center)\b)"
)
_TOKEN = re.compile(rf"{_NAME}|{_WHERE}|(?P<stop>[.;:!?\n])", re.IGNORECASE)
SHARES = {"up": 1.0, "half": 0.5, "down": 0.0}


def positions_in(text: str) -> dict[str, float]:
    """{control as the text calls it: share of its track}: "Turn RV1 (volume) fully up" gives both its names."""
    positions: dict[str, float] = {}
    waiting: list[str] = []
    for token in _TOKEN.finditer(text):
        if token["stop"]:
            waiting = []
        elif token["name"]:
            waiting.append(token["name"].lower())
        else:
            share = next(SHARES[name] for name in SHARES if token[name])
            positions |= dict.fromkeys(waiting, share)
            waiting = []
    return positions


def position_warnings(stages: list[dict], parts: list[dict]):
    """Yield (stage key, check key, message) where a check contradicts its stage or the step before it."""
    names = _names(parts)
    for stage in stages:
        at = {names.get(ref.lower(), ref.lower()): share for ref, share in (stage.get("settings") or {}).items()}
        for kind, row in _in_order(stage):
            text = row["text"] if kind == "step" else f"{row['title']}. {row.get('note', '')}"
            stated = {names.get(name, name): share for name, share in positions_in(text).items()}
            if kind == "step":
                at |= stated
                continue
            for name, share in stated.items():
                if name in at and abs(at[name] - share) > APART:
                    yield stage["key"], row["key"], _contradiction(name, at[name], share)


def _contradiction(name: str, before: float, share: float) -> str:
    return _(
        "The control %(name)s is at %(before)d %% of its track in this stage, and at %(here)d %% in this check. Set "
        "it in a step before the check, or give both the same position."
    ) % {"name": name, "before": round(100 * before), "here": round(100 * share)}


def _names(parts: list[dict]) -> dict[str, str]:
    """What a control is called in its note -> its reference, where only one is called so."""
    by_name: dict[str, list[str]] = {}
    for part in parts:
        if part.get("kind") == "potentiometer":
            by_name.setdefault(part["ref"].lower(), []).append(part["ref"])
            for token in re.finditer(_NAME, str(part.get("note", "")), re.IGNORECASE):
                by_name.setdefault(token[0].lower(), []).append(part["ref"])
    return {name: refs[0] for name, refs in by_name.items() if len({*refs}) == 1}


def _in_order(stage: dict):
    rows = [("step", row) for row in stage.get("step", [])] + [("check", row) for row in stage.get("check", [])]
    places = {key: n for n, key in enumerate(stage.get("order", []))}
    return sorted(rows, key=lambda row: places.get(row[1]["key"], 0))
