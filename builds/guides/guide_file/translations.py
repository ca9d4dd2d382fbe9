"""Translations of a guide's texts: guide.de.toml beside guide.toml, keyed by the keys of the guide, holding only texts.

    format = 1
    [kit]
    name = "…"
    [point."ht.main"]
    words = "…"
    [stage.first-power]
    title = "…"
    [stage.first-power.step.lamp]
    text = "…"
    [stage.first-power.check.p-heater]
    title = "…"
    red = "=…"           # only where the guide has words there
    hint = ["…", "…"]    # the hints' texts, in order
    [picture."layout.png"]
    words = ["…", "…"]   # the words drawn on a picture, in order

What is left out falls back to the guide's own text, and so does what was translated from a text that has changed since.
"""

import hashlib
import re
import tomllib

import tomlkit
from django.utils.translation import gettext as _

from builds.guides.guide_file.errors import FileProblem, GuideErrors
from builds.guides.guide_file.picture_rules import LONGEST
from builds.guides.guide_file.plain import find_unstorable, most_characters
from builds.guides.guide_file.rules import not_accepted
from builds.guides.guide_file.surroundings import Surroundings, mains_message

TEXTS = {
    "kit": ("name", "summary"),
    "picture": ("words",),
    "point": ("words",),
    "part": ("note",),
    "fault": ("words", "look"),
    "stage": ("title", "intro"),
    "step": ("text",),
    "check": ("title", "note", "red", "black", "hint"),
}
PROBES = ("red", "black")
LONGEST_WORDS = LONGEST["words"]


def list_texts(data: dict) -> dict[tuple, str | list]:
    """{("stage", "first-power", "step", "lamp", "text"): text} of everything in a guide that may be translated."""
    texts: dict[tuple, str | list | None] = {("kit", key): data["kit"].get(key) for key in TEXTS["kit"]}
    texts |= {("picture", row["name"], "words"): words_drawn(row) for row in data.get("picture", [])}
    for table, name in (("point", "node"), ("part", "ref"), ("fault", "key")):
        for row in data.get(table, []):
            texts |= {(table, row[name], key): row.get(key) for key in TEXTS[table]}
    for stage in data.get("stage", []):
        head = ("stage", stage["key"])
        texts |= {(*head, key): stage.get(key) for key in TEXTS["stage"]}
        for table in ("step", "check"):
            for row in stage.get(table, []):
                texts |= {(*head, table, row["key"], key): _text(row, key) for key in TEXTS[table]}
    return {path: text for path, text in texts.items() if text}


def words_drawn(changes: dict) -> list[str]:
    """The words drawn on a picture, in order."""
    return [mark["text"] for mark in changes.get("mark", []) if mark["what"] == "words"]


def _text(row: dict, key: str):
    if key == "hint":
        return [hint["text"] for hint in row.get("hint", [])]
    text = row.get(key)
    return text if key not in PROBES or str(text or "").startswith("=") else None  # a node is no text


def read_translations(files: dict[str, str], data: dict) -> dict[str, list]:
    """{language: [[path, text, source]]} of the guide in `data`. Raises GuideErrors with the lines of each file."""
    sources, problems, texts = list_texts(data), [], {}
    for language, text in files.items():
        rows, wrong = _read(language, text, data, sources)
        texts[language] = rows
        problems += wrong
    if problems:
        raise GuideErrors(problems)
    return texts


def _read(language: str, text: str, data: dict, sources: dict) -> tuple[list, list[FileProblem]]:
    name = f"guide.{language}.toml"
    try:
        table = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        line = re.search(r"line (\d+)", str(error))
        return [], [FileProblem(int(line[1]) if line else 0, name, f"{error}.")]
    problems = (
        [] if table.pop("format", None) == 1 else [FileProblem(1, name, _("The first line must be: format = 1."))]
    )
    rows, around = [], Surroundings.of(data)
    for path, value in _leaves(table):
        wrong = _wrong(path, value, sources) or _on_mains(path, value, data, around)
        if wrong:
            problems.append(FileProblem(_line(text, path), f"{name}, {'.'.join(path)}", wrong))
        else:
            rows.append([list(path), value, digest(sources[path])])
    return rows, problems


def _leaves(table, path: tuple = ()):
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _leaves(value, (*path, key))
        else:
            yield (*path, key), value


def _wrong(path: tuple, value, sources: dict) -> str:
    source = sources.get(path)
    if source is None:
        return not_accepted(".".join(path), [".".join(known) for known in sources if len(known) == len(path)][:8])
    if isinstance(source, list):
        return _wrong_list(path, value, source)
    if not isinstance(value, str) or not value.strip():
        return _("This must be text in quotes.")
    table = path[-3] if len(path) > 2 else path[0]
    most = most_characters(table, path[-1])
    if most and len(value) > most:
        return _("This is %(count)d characters long. Accepted: up to %(most)d.") % {"count": len(value), "most": most}
    if path[-1] in PROBES and not value.startswith("="):
        return _("A probe point in words begins with an equals sign, such as =the tag of C1.")
    return find_unstorable(value)


def _wrong_list(path: tuple, value, source: list) -> str:
    """Hints of a check, or words on a picture: one text for each, in order."""
    if not (isinstance(value, list) and len(value) == len(source)) or not all(_is_text(v) for v in value):
        n = {"n": len(source)}
        if path[0] == "picture":
            return _("This picture has text in %(n)d places. Give the text of each, in order.") % n
        return _("This check has %(n)d hints. Give the text of each, in order.") % n
    if path[0] == "picture" and any(len(text) > LONGEST_WORDS for text in value):
        return _("Text on a picture has up to %(most)d characters.") % {"most": LONGEST_WORDS}
    return ""


def _is_text(value) -> bool:
    return isinstance(value, str) and bool(value.strip()) and not find_unstorable(value)


def _on_mains(path: tuple, value, data: dict, around: Surroundings) -> str:
    """A translation may not send a probe where the guide itself may not."""
    if path[-1] not in PROBES:
        return ""
    stage = next(stage for stage in data["stage"] if stage["key"] == path[1])
    check = next(check for check in stage["check"] if check["key"] == path[3])
    translated = check | {path[-1]: value, "note": f"{check.get('note', '')} {check.get(path[-1], '')}"}
    is_forbidden = around.mains.is_forbidden(translated, stage.get("power", "off"), around.locations)
    return mains_message() if is_forbidden == path[-1] else ""


def _line(text: str, path: tuple) -> int:
    """The line of a key in its table; of the table where the key is written otherwise; 0 where neither is found."""
    parts = r"\s*\.\s*".join(rf"[\"']?{re.escape(part)}[\"']?" for part in path[:-1])
    rows = text.splitlines()
    head = next((n for n, row in enumerate(rows) if re.match(rf"\s*\[\s*{parts}\s*\]", row)), None)
    if head is None:
        return 0
    for number in range(head + 1, len(rows)):
        if rows[number].lstrip().startswith("["):
            break
        if re.match(rf"\s*[\"']?{re.escape(path[-1])}[\"']?\s*=", rows[number]):
            return number + 1
    return head + 1


def digest(source) -> str:
    """Of the text a translation was made from, so that a change of it is noticed."""
    return hashlib.sha256(repr(source).encode()).hexdigest()[:16]


def current(rows: list, sources: dict) -> dict[tuple, str | list]:
    """{path: text} of the translations whose source still says the same."""
    known = {path: digest(source) for path, source in sources.items()}
    return {tuple(path): text for path, text, of in rows if known.get(tuple(path)) == of}


def as_toml(rows: list, sources: dict) -> str:
    """A guide.de.toml of what is current."""
    document: dict = {"format": 1}
    for path, text in current(rows, sources).items():
        table = document
        for part in path[:-1]:
            table = table.setdefault(part, {})
        table[path[-1]] = text
    return tomlkit.dumps(document)
