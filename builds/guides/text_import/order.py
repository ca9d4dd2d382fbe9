"""Where a document has its readings among its steps, and whether a text behind a table is something to do next.

Readings that stand between "switch on" and "switch off" must not end up behind both.
"""

import re

_NEXT = re.compile(
    r"(?:(?:and|und)\s+)?(?:then|now|next|after(?:wards|\s+(?:that|this))|finally|lastly|"
    r"danach|dann|nun|jetzt|anschlie(?:ß|ss)end|abschlie(?:ß|ss)end|zum schluss|zuletzt|als nächstes)\b|"
    r"(?:un)?plug|switch|turn|let|wait|listen|play|pluck|check|connect|disconnect|repeat|remove|discharge|set|adjust|put|"
    r"leave|fit|solder|mount|insert|install|pull|close|feed|apply|measure|run|move|clip|press|ziehe|schalte|warte|prüfe",
    re.IGNORECASE,
)
_TO_DO = re.compile(  # a German instruction ends in its verb: "Netzstecker ziehen."
    r"[^.!?]*\b(?:ziehen|(?:ein|aus|ab|um)schalten|entladen|warten|(?:an|ab|ver)(?:schließen|klemmen|binden)|prüfen|"
    r"kontrollieren|(?:ein|um)?stecken|(?:ein|an|ab|ver)?löten|(?:ein|ab)stellen|einsetzen|anlegen|wiederholen|hören|"
    r"(?:fest)?schrauben)\s*(?:[.!]|$)",
    re.IGNORECASE,
)
_OF_A_READING = re.compile(r"(?:if|should|where|wenn|falls|sollten?|bei)\b", re.IGNORECASE)


def is_next_thing(text: str) -> bool:
    """Does a text behind a table of readings say what to do after them, and not how or what they should read?"""
    plain = re.sub(r"[*_`>-]", "", text).strip()
    first = re.match(r"[\w-]+", plain)
    if not first or _OF_A_READING.match(plain):
        return False
    match = _NEXT.match(plain)
    return bool(match and not plain[match.end() :][:1].isalpha()) or bool(_TO_DO.match(plain))


def list_order(steps: list[tuple[int, str]], checks: list[tuple[int, str]]) -> list[str]:
    """The keys of a stage in the document's order: (place, key) of each step, and of each check the place of the step
    that follows it. Empty where the checks come last, as they do without an order."""
    ranked = sorted(
        [((n, 1), key) for n, key in steps] + [((n, 0), key) for n, key in checks], key=lambda pair: pair[0]
    )
    order = [key for _place, key in ranked]
    return [] if order == [key for _n, key in (*steps, *checks)] else order


def order_over(old: dict, new: dict, merged: dict) -> list[str]:
    """The order of a stage that a document changed: the document's, and what the draft had besides where it was."""
    keys = [*_keys(merged)]
    if len({*keys}) < len(keys):
        return []  # a step and a check with one name: no order can tell them apart
    order = [key for key in new.get("order") or _keys(new) if key in keys]
    before = ""
    for key in old.get("order") or _keys(old):
        if key in keys and key not in order:
            order.insert(order.index(before) + 1 if before in order else 0, key)
        before = key if key in order else before
    return [] if order == keys or {*order} != {*keys} else order


def _keys(stage: dict) -> list[str]:
    return [row["key"] for name in ("step", "check") for row in stage.get(name, [])]
