"""A part, a point, or a row under another name, wherever a guide names it and in its translations."""

from builds.guides.editor.judging import judge_tables
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.mains_side import MainsSide

NAMED = {"part": "ref", "point": "node", "stage": "key", "step": "key", "check": "key"}  # what a row is known by


def follow_name(draft, kind: str, old: str, new: str, stage: str = "") -> None:
    """After a row was saved under a new name: everything of the draft that named it names it still, but what would
    then be dangerous. `stage` is the stage of a step or check."""
    if old == new or not old:
        return
    before = data = as_tables(draft)
    if kind == "part":
        data = rename_part(data, old, new)
    elif kind == "check":
        data = rename_check(data, old, new, stage)
    elif kind == "point" and old not in MainsSide.of(data["part"]).all_nodes:
        data = rename_point(data, old, new)
    pictures = frozenset(draft.pictures.values_list("name", flat=True))
    if not judge_tables(before, data, pictures, set()).dangers:
        apply_tables(draft, data)
    head = ("stage", stage, kind) if kind in ("step", "check") else (kind,)
    rename_translations(draft, (*head, old), (*head, new))


def rename_translations(draft, old: tuple, new: tuple) -> None:
    """Texts of a row that has another name now; a row's name is the end of `old`."""
    if not draft.translations:
        return
    draft.translations = {
        language: [
            [[*new, *path[len(old) :]] if tuple(path[: len(old)]) == old else path, *rest] for path, *rest in rows
        ]
        for language, rows in draft.translations.items()
    }
    draft.save(update_fields=["translations"])


def rename_part(data: dict, old: str, new: str) -> dict:
    """The guide with every step, stage, check and fault that named `old` naming `new`."""
    return data | {
        "stage": [_stage(stage, old, new) for stage in data["stage"]],
        "fault": [fault | {"part": new} if fault.get("part") == old else fault for fault in data.get("fault", [])],
    }


def _stage(stage: dict, old: str, new: str) -> dict:
    stage = dict(stage)
    if stage.get("not_fitted"):
        stage["not_fitted"] = [new if ref == old else ref for ref in stage["not_fitted"]]
    if stage.get("settings"):
        stage["settings"] = {new if ref == old else ref: value for ref, value in stage["settings"].items()}
    if stage.get("step"):
        stage["step"] = [_step(step, old, new) for step in stage["step"]]
    if stage.get("check"):
        stage["check"] = [_check(check, old, new) for check in stage["check"]]
    return stage


def _step(step: dict, old: str, new: str) -> dict:
    return step | {"parts": [new if ref == old else ref for ref in step["parts"]]} if step.get("parts") else step


def _check(check: dict, old: str, new: str) -> dict:
    renamed = dict(check)
    for end in ("red", "black"):
        place = renamed.get(end, "")
        if place.startswith(f"{old}."):
            renamed[end] = f"{new}.{place.removeprefix(f'{old}.')}"
    if renamed.get("through") == old:
        renamed["through"] = new
    for key, place in (renamed.get("signal") or {}).items():
        if key in ("into", "load_at") and place.startswith(f"{old}."):
            renamed["signal"] = renamed["signal"] | {key: f"{new}.{place.removeprefix(f'{old}.')}"}
    return renamed


def rename_point(data: dict, old: str, new: str) -> dict:
    """The guide with every check that is read at the point `old` read at `new`, and its signals put in there."""
    stages = []
    for stage in data["stage"]:
        rows = [_at_point(check, old, new) for check in stage.get("check", [])]
        stages.append(stage | ({"check": rows} if rows else {}))
    return data | {"stage": stages}


def _at_point(check: dict, old: str, new: str) -> dict:
    renamed = check | {end: new for end in ("red", "black") if check.get(end) == old}
    places = {key: new for key in ("into", "load_at") if (check.get("signal") or {}).get(key) == old}
    return renamed | ({"signal": check["signal"] | places} if places else {})


def rename_check(data: dict, old: str, new: str, stage: str) -> dict:
    """The guide with every hint that led to the check, and each formula of its stage with it, naming it still."""

    def build_row(check: dict, is_near: bool) -> dict:
        renamed = dict(check)
        if check.get("hint"):
            renamed["hint"] = [hint | {"next": new} if hint.get("next") == old else hint for hint in check["hint"]]
        if is_near and check.get("formula", {}).get("of"):
            renamed["formula"] = check["formula"] | {"of": [new if k == old else k for k in check["formula"]["of"]]}
        return renamed

    rows = {s["key"]: [build_row(check, s["key"] == stage) for check in s.get("check", [])] for s in data["stage"]}
    return data | {"stage": [s | ({"check": rows[s["key"]]} if rows[s["key"]] else {}) for s in data["stage"]]}
