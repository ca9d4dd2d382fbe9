"""A plan of stages put into a draft: what is there under the same name is revised, the rest is kept."""

from builds.guides.editor.edits import one_edit, tables_key
from builds.guides.editor.judging import judge_tables
from builds.guides.guide_file.apply import apply_tables
from builds.guides.pictures.saving import make_picture
from builds.guides.text_import.order import order_over
from builds.guides.text_import.stages import Plan, list_rows
from builds.guides.unused_pictures import free_name


class Refused(Exception):
    """Why a plan cannot be saved, as sentences."""


def merged_stages(before: list[dict], new: list[dict]) -> list[dict]:
    """Stages of the document in its order over those of the draft with the same key; others stay where they were."""
    old = {stage["key"]: stage for stage in before}
    merged = [_over(old[stage["key"]], stage) if stage["key"] in old else stage for stage in new]
    keys = {stage["key"] for stage in new}
    first = next((n for n, stage in enumerate(before) if stage["key"] in keys), None)
    rest = [stage for stage in before if stage["key"] not in keys]
    if first is None:
        return [*rest, *merged] if not _ends_powered(rest) or _ends_powered(merged) else [*merged, *rest]
    ahead = [stage for stage in before[:first] if stage["key"] not in keys]
    return [*ahead, *merged, *(stage for stage in rest if stage not in ahead)]


def _ends_powered(stages: list[dict]) -> bool:
    return bool(stages) and stages[-1].get("power") == "on"


def _over(old: dict, new: dict) -> dict:
    """Steps are the document's; checks of the draft that the document does not have stay."""
    steps = {step["key"]: step for step in old.get("step", [])}
    new_steps = [steps.get(step["key"], {}) | step for step in new.get("step", [])] or old.get("step", [])
    checks = {check["key"]: check for check in old.get("check", [])}
    new_checks = [checks.pop(check["key"], {}) | check for check in new.get("check", [])]
    row = {k: v for k, v in (old | new).items() if k not in ("step", "check", "order")}
    both = [*checks.values(), *new_checks] if checks else new_checks
    row |= ({"step": new_steps} if new_steps else {}) | ({"check": both} if both else {})
    order = order_over(old, new, row)
    return ({"order": order} if order else {}) | row


def after_import(before: dict, plan: Plan) -> dict:
    """The tables of a draft after the import."""
    return before | {"stage": merged_stages(before["stage"], list_rows(plan, before["part"]))}


def list_problems(draft, before: dict, after: dict, pictures) -> list[str]:
    known = frozenset(draft.pictures.values_list("name", flat=True)) | frozenset(pictures)
    verdict = judge_tables(before, after, known, _changed(before, after))
    return [f"{problem.label}: {problem.message}" for problem in (*verdict.own, *verdict.dangers)]


def _changed(before: dict, after: dict) -> set[tuple[str, int]]:
    """Stages, steps and checks that are new or say something else, as the walker counts them."""
    old = {stage["key"]: stage for stage in before["stage"]}
    changed = {("stage", n) for n, stage in enumerate(after["stage"]) if old.get(stage["key"]) != stage}
    for name in ("step", "check"):
        was = {(s["key"], row["key"]): row for s in before["stage"] for row in s.get(name, [])}
        now = [((s["key"], row["key"]), row) for s in after["stage"] for row in s.get(name, [])]
        changed |= {(f"stage.{name}", n) for n, (key, row) in enumerate(now) if was.get(key) != row}
    return changed


def save_plan(draft, person, plan: Plan, pictures: dict[str, bytes], shown: str) -> str:
    """Save what was shown as one edit; returns "" or, where the draft was edited meanwhile, the key of what would be
    saved now. Raises Refused where a rule is against it."""
    with one_edit(draft, person, "text-import", plan.title) as before:
        if shown != draft_key(before):
            return draft_key(before)
        _rename_pictures(draft, plan, pictures)
        after = after_import(before, plan)
        if problems := list_problems(draft, before, after, pictures):
            raise Refused(problems)
        _keep(draft, pictures)
        apply_tables(draft, after)
    return ""


def draft_key(tables: dict) -> str:
    return tables_key(tables)[:16]


def _rename_pictures(draft, plan: Plan, pictures: dict[str, bytes]) -> None:
    """Pictures of the document get names that the draft has not yet; the same picture keeps the one it has."""
    taken = {picture.name: picture for picture in draft.pictures.all()}
    renamed = {}
    for name in [*pictures]:
        renamed[name] = free_name(name, pictures[name], taken)
        pictures[renamed[name]] = pictures.pop(name)
    for stage in plan.stages:
        for step in stage.steps:
            step["picture"] = renamed.get(step["picture"], step["picture"])


def _keep(draft, pictures: dict[str, bytes]) -> None:
    there = set(draft.pictures.values_list("name", flat=True))
    for name, content in pictures.items():
        if name in there:
            continue
        make_picture(draft, name, content)
