"""All checks of a guide as one grid: its cells from the rows of the guide, and back."""

from builds.guides.editor.edits import one_edit
from builds.guides.editor.grid import GridState, list_clashes, posted_rows
from builds.guides.editor.judging import judge_tables
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.walk import Walker

COLUMNS = (
    "title", "measure", "red", "black", "expected", "band", "low", "high", "at_least", "at_most", "stop_below",
    "stop_above", "through", "note",
)  # fmt: skip


def list_cells(row: dict) -> dict[str, str]:
    return {name: " ".join(str(row.get(name, "")).split()) for name in COLUMNS}


def make_name(stage: dict, check: dict) -> str:
    return f"{stage['key']}/{check['key']}"


def save_grid(draft, person, post):
    """Save a posted grid as one edit; where anything is wrong, nothing is saved. Returns (state, posted rows)."""
    rows, state = posted_rows(post, COLUMNS), GridState()
    try:
        with one_edit(draft, person, "checks-grid") as before:
            after, numbers = _after(before, rows, state)
            if state.is_good:
                _judge(draft, before, after, numbers, state)
            if not state.is_good:
                raise _Refused
            apply_tables(draft, after)
    except _Refused:
        pass
    return state, rows


def present_errors(tables: dict, pictures: frozenset[str]) -> dict[str, dict[str, list[str]]]:
    """What is wrong with the checks as they are: name -> column -> sentences."""
    names = [make_name(stage, check) for stage in tables["stage"] for check in stage.get("check", [])]
    errors: dict[str, dict[str, list[str]]] = {}
    for problem in Walker(tables, pictures).problems():
        if problem.place.table == "stage.check":
            key = problem.place.key if problem.place.key in COLUMNS else "title"
            errors.setdefault(names[problem.place.index], {}).setdefault(key, []).append(problem.message)
    return errors


class _Refused(Exception):
    pass


def _after(before: dict, rows, state: GridState):
    """(the tables after the post, {name of a changed check: its row's number})."""
    now = {make_name(stage, check): check for stage in before["stage"] for check in stage.get("check", [])}
    changed: dict[str, dict | None] = {}
    numbers: dict[str, int] = {}
    for row in rows:
        if not row.was or not row.is_touched:
            continue
        current = now.get(row.was)
        if clashing := list_clashes(row, list_cells(current) if current else None):
            state.clashes[row.number] = clashing
            continue
        if current is None:
            continue
        state.saved += 1
        numbers[row.was] = row.number
        changed[row.was] = None if row.is_gone else _changed(current, row.cells)
    return before | {"stage": [_stage(stage, changed) for stage in before["stage"]]}, numbers


def _changed(current: dict, cells: dict[str, str]) -> dict:
    """The check with its cells; one that was not changed keeps its line ends."""
    shown = list_cells(current)
    unchanged = {k: v for k, v in current.items() if k not in COLUMNS or shown[k] == cells.get(k, "")}
    return unchanged | {k: v for k, v in cells.items() if v and shown[k] != v}


def _stage(stage: dict, changed: dict) -> dict:
    if not stage.get("check"):
        return stage
    rows = [changed.get(make_name(stage, check), check) for check in stage["check"]]
    deleted = {c["key"] for c, row in zip(stage["check"], rows, strict=True) if row is None}
    stage = stage | {"check": [row for row in rows if row]}
    if stage.get("order"):
        stage["order"] = [key for key in stage["order"] if key not in deleted]
    return stage


def _judge(draft, before, after, numbers, state: GridState) -> None:
    names = [make_name(stage, check) for stage in after["stage"] for check in stage.get("check", [])]
    changed = {("stage.check", n) for n, name in enumerate(names) if name in numbers}
    pictures = frozenset(draft.pictures.values_list("name", flat=True))
    verdict = judge_tables(before, after, pictures, changed)
    for problem in verdict.own:
        column = problem.place.key if problem.place.key in COLUMNS else "title"
        state.refuse(numbers[names[problem.place.index]], column, problem.message)
    state.general += [f"{problem.label}: {problem.message}" for problem in verdict.dangers]
