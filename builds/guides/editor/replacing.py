"""Find and replace in the words of a draft: never in keys, references, points or figures."""

import re

from builds.guides.editor.edits import one_edit
from builds.guides.editor.judging import judge_tables
from builds.guides.editor.meanwhile import EditedMeanwhile, differences_version
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.compare import table_differences

TEXT_FIELDS = {
    "kit": ("name", "summary"),
    "point": ("words",),
    "part": ("note",),
    "fault": ("words", "look"),
    "stage": ("title", "intro"),
    "step": ("text",),
    "check": ("title", "note"),
}
TABLES = ("picture", "point", "part", "stage")


class Refused(Exception):
    """Why nothing was replaced, as sentences."""


def replaced(tables: dict, find: str, put: str, *, any_case: bool = False) -> dict:
    """The tables with `find` as `put` in every text that people read; hints of checks and words on pictures too."""
    if not find:
        return tables
    pattern = re.compile(re.escape(find), re.IGNORECASE if any_case else 0)

    def change(text):
        return pattern.sub(lambda _match: put, text)

    return tables | {
        "kit": _row("kit", tables["kit"], change),
        "point": [_row("point", row, change) for row in tables["point"]],
        "part": [_row("part", row, change) for row in tables["part"]],
        "fault": [_row("fault", row, lambda text: change(text) or text) for row in tables.get("fault", [])],
        "picture": [_picture(row, change) for row in tables.get("picture", [])],
        "stage": [_stage(row, change) for row in tables["stage"]],
    }


def _row(table: str, row: dict, change) -> dict:
    return row | {name: change(row[name]) for name in TEXT_FIELDS[table] if row.get(name)}


def _picture(row: dict, change) -> dict:
    """Numbers stay: a step may name them."""
    marks = [mark | {"text": change(mark["text"])} if mark["what"] == "words" else mark for mark in row.get("mark", [])]
    return row | ({"mark": marks} if marks else {})


def _stage(stage: dict, change) -> dict:
    row = _row("stage", stage, change)
    if row.get("step"):
        row["step"] = [_row("step", step, change) for step in row["step"]]
    if row.get("check"):
        row["check"] = [_check(check, change) for check in row["check"]]
    return row


def _check(check: dict, change) -> dict:
    row = _row("check", check, change)
    for end in ("red", "black"):  # only the designer's own words, which begin with an equals sign
        if row.get(end, "").startswith("="):
            row[end] = f"={change(row[end][1:])}"
    if row.get("hint"):
        row["hint"] = [hint | {"text": change(hint["text"])} for hint in row["hint"]]
    return row


def replace_in(draft, person, find: str, put: str, *, shown: str, any_case: bool = False) -> None:
    """Replace as one edit. Raises Refused where the guide's rules are against it, and EditedMeanwhile where this would
    change other texts than those of the version `shown`."""
    with one_edit(draft, person, "replace", f"“{find}” → “{put}”") as before:
        after = replaced(before, find, put, any_case=any_case)
        if differences_version(table_differences(before, after)) != shown:
            raise EditedMeanwhile
        pictures = frozenset(draft.pictures.values_list("name", flat=True))
        verdict = judge_tables(before, after, pictures, set())
        wrong = [*verdict.dangers, *_new_problems(before, after, pictures)]
        if wrong:
            raise Refused([f"{problem.label}: {problem.message}" for problem in wrong])
        apply_tables(draft, after)


def _new_problems(before: dict, after: dict, pictures):
    """Problems of any kind that were not there: a title that became empty or too long."""
    old = {(p.place, p.message) for p in judge_tables(before, before, pictures, _all(before)).own}
    return [p for p in judge_tables(before, after, pictures, _all(after)).own if (p.place, p.message) not in old]


def _all(tables: dict) -> set[tuple[str, int]]:
    rows = {("kit", 0)} | {(name, n) for name in TABLES for n in range(len(tables.get(name, [])))}
    for name in ("step", "check"):
        rows |= {(f"stage.{name}", n) for n in range(sum(len(stage.get(name, [])) for stage in tables["stage"]))}
    return rows
