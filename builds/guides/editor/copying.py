"""Stages, steps, checks and parts copied from another guide of the same designer, with their pictures."""

from builds.guides.editor.edits import one_edit
from builds.guides.editor.judging import judge_tables
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.pictures.saving import make_picture
from builds.guides.short_names import make_key
from builds.guides.unused_pictures import free_name


class Refused(Exception):
    """Why nothing was copied, as sentences."""


def copy_rows(draft, person, source, names: set[str], target: str, *, with_parts: bool = False) -> int:
    """Copy the rows of these names ("part:R1", "stage:supply", "step:supply/c1", "check:supply/rail") from a revision,
    if asked with the parts that they name. Steps and checks alone go into the stage `target`. Returns how many rows.
    Raises Refused."""
    theirs = as_tables(source)
    if with_parts:
        names = names | {f"part:{ref}" for ref in _parts_named(theirs, names)}
    with one_edit(draft, person, "copy", str(source)) as before:
        after, count = _with(before, theirs, names, target)
        used = _pictures(after, before)
        renamed = _copy_pictures(draft, source, used)
        after = _renamed(after, before, renamed) | {"picture": as_tables(draft)["picture"]}
        pictures = frozenset(draft.pictures.values_list("name", flat=True))
        verdict = judge_tables(before, after, pictures, _added(before, after))
        if not verdict.is_good:
            raise Refused([f"{p.label}: {p.message}" for p in (*verdict.own, *verdict.dangers)])
        apply_tables(draft, after)
    return count


def _with(before: dict, theirs: dict, names: set[str], target: str) -> tuple[dict, int]:
    there = {row["ref"] for row in before["part"]}
    parts = [row for row in theirs["part"] if f"part:{row['ref']}" in names and row["ref"] not in there]
    taken = {stage["key"] for stage in before["stage"]}
    whole = [s for s in theirs["stage"] if f"stage:{s['key']}" in names]
    keys = {stage["key"] for stage in whole}
    stages = [dict(stage) for stage in before["stage"]]
    count = len(parts) + len(whole)
    home = next((stage for stage in stages if stage["key"] == target), None)
    for stage in theirs["stage"]:
        for kind in ("step", "check"):
            rows = [r for r in stage.get(kind, []) if f"{kind}:{stage['key']}/{r['key']}" in names]
            if rows and home is not None and stage["key"] not in keys:
                _into(home, kind, rows)
                count += len(rows)
    added = [stage | {"key": make_key(stage["key"], taken)} for stage in whole]
    return before | {"part": [*before["part"], *parts], "stage": [*stages, *added]}, count


def _parts_named(theirs: dict, names: set[str]) -> set[str]:
    """The parts that the rows to be copied name."""
    refs: set[str] = set()
    for stage in theirs["stage"]:
        is_whole = f"stage:{stage['key']}" in names
        if is_whole:
            refs |= {*stage.get("not_fitted", []), *(stage.get("settings") or {})}
        for kind in ("step", "check"):
            rows = [r for r in stage.get(kind, []) if is_whole or f"{kind}:{stage['key']}/{r['key']}" in names]
            refs |= {ref for row in rows for ref in _named_by(row)}
    return refs


def _named_by(row: dict) -> list[str]:
    pins = [row.get(end, "").partition(".")[0] for end in ("red", "black")]
    return [*row.get("parts", []), row.get("through", ""), *pins]


def _into(stage: dict, kind: str, rows: list[dict]) -> None:
    inner = {row["key"] for name in ("step", "check") for row in stage.get(name, [])}
    made = [row | {"key": make_key(row["key"], inner)} for row in rows]
    stage[kind] = [*stage.get(kind, []), *made]
    if stage.get("order"):
        stage["order"] = [*stage["order"], *(row["key"] for row in made)]


def _rows(tables: dict):
    for stage in tables["stage"]:
        for kind in ("step", "check"):
            for row in stage.get(kind, []):
                yield (stage["key"], kind, row["key"]), row


def _pictures(after: dict, before: dict) -> set[str]:
    old = dict(_rows(before))
    return {row["picture"] for name, row in _rows(after) if name not in old and row.get("picture")}


def _copy_pictures(draft, source, names: set[str]) -> dict[str, str]:
    """{their name: the draft's}; a picture that the draft has under its name already is not doubled."""
    taken = {picture.name: picture for picture in draft.pictures.all()}
    renamed = {}
    for picture in source.pictures.filter(name__in=names):
        with picture.file.open("rb") as file:
            content = file.read()
        renamed[picture.name] = free_name(picture.name, content, taken)
        if renamed[picture.name] not in taken:
            made = make_picture(draft, renamed[picture.name], content, picture.changes)
            taken[made.name] = made
    return renamed


def _renamed(after: dict, before: dict, renamed: dict[str, str]) -> dict:
    old = dict(_rows(before))

    def build_row(stage, kind, row):
        is_new = (stage["key"], kind, row["key"]) not in old
        return row | {"picture": renamed[row["picture"]]} if is_new and row.get("picture") in renamed else row

    stages = [
        stage | {k: [build_row(stage, k, row) for row in stage[k]] for k in ("step", "check") if stage.get(k)}
        for stage in after["stage"]
    ]
    return after | {"stage": stages}


def _added(before: dict, after: dict) -> set[tuple[str, int]]:
    refs = {row["ref"] for row in before["part"]}
    added = {("part", n) for n, row in enumerate(after["part"]) if row["ref"] not in refs}
    keys = {stage["key"] for stage in before["stage"]}
    added |= {("stage", n) for n, stage in enumerate(after["stage"]) if stage["key"] not in keys}
    old = dict(_rows(before))
    for kind in ("step", "check"):
        names = [name for name, _row in _rows(after) if name[1] == kind]
        added |= {(f"stage.{kind}", n) for n, name in enumerate(names) if name not in old}
    return added
