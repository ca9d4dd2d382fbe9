"""Adding ticked proposals to a draft as one edit, with the stages they need."""

from builds.guides.editor.edits import one_edit
from builds.guides.editor.judging import judge_tables
from builds.guides.guide_file.apply import apply_tables
from builds.guides.proposals.propose import propose


class Refused(Exception):
    """Why nothing was added, as sentences."""


def add_ticked(draft, person, names: set[str]) -> int:
    """Add the proposals of these names; returns how many. Raises Refused where a rule is against them."""
    with one_edit(draft, person, "proposals", str(len(names))) as before:
        found = propose(before)
        wanted = [p for p in found.proposals if p.name in names and not p.is_there]
        stages = [_with_checks(stage, [p.row for p in wanted if p.stage == stage["key"]]) for stage in found.stages]
        added = {stage["key"] for stage in found.added}
        after = before | {"stage": [s for s in stages if s["key"] not in added or s.get("check")]}
        pictures = frozenset(draft.pictures.values_list("name", flat=True))
        verdict = judge_tables(before, after, pictures, _new_checks(before, after))
        if not verdict.is_good:
            raise Refused([f"{p.label}: {p.message}" for p in (*verdict.own, *verdict.dangers)])
        apply_tables(draft, after)
    return len(wanted)


def _with_checks(stage: dict, rows: list[dict]) -> dict:
    if not rows:
        return stage
    order = {"order": [*stage["order"], *(row["key"] for row in rows)]} if stage.get("order") else {}
    return stage | {"check": [*stage.get("check", []), *rows]} | order


def _new_checks(before: dict, after: dict) -> set[tuple[str, int]]:
    """The new checks as the walker counts them, over all stages."""
    old = {(stage["key"], check["key"]) for stage in before["stage"] for check in stage.get("check", [])}
    names = [(stage["key"], check["key"]) for stage in after["stage"] for check in stage.get("check", [])]
    return {("stage.check", n) for n, name in enumerate(names) if name not in old}
