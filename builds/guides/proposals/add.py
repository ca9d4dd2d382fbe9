"""Adding ticked proposals to a draft as one edit, with the stages they need, and changing the checks it has."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from builds.guides.editor.edits import one_edit
from builds.guides.editor.judging import judge_tables
from builds.guides.guide_file.apply import apply_tables
from builds.guides.proposals.kept import changes_for, circuit_version, proposals_for


class Refused(Exception):
    """Why nothing was added, as sentences."""


def apply_ticked(draft, person, names: set[str], tokens: Iterable[str] = (), *, seen: str) -> tuple[int, int]:
    """Add the proposals of these names and make the changes of these tokens (see `Change`); returns how many of each.
    `seen` is the version of the circuit whose proposals were shown. Raises Refused where a rule is against them, or a
    check or the circuit is not what they are of."""
    with one_edit(draft, person, "proposals", str(len(names))) as before:
        if names and seen != circuit_version(before):
            raise Refused([_edited_meanwhile()])
        proposal_set = proposals_for(before)
        if names - {p.name for p in proposal_set.proposals}:
            proposal_set = proposals_for(before, with_signals=True)
        chosen = [p for p in proposal_set.proposals if p.name in names and not p.is_there]
        changes = _changes(before, set(tokens))
        stages = [
            _with_checks(stage, [p.row for p in chosen if p.stage == stage["key"]]) for stage in proposal_set.stages
        ]
        stages = [_changed(stage, changes) for stage in stages]
        added = {stage["key"] for stage in proposal_set.added}
        after = before | {"stage": [s for s in stages if s["key"] not in added or s.get("check")]}
        _judge(draft, before, after)
        apply_tables(draft, after)
    return len(chosen), len(changes)


def _changes(before: dict, tokens: set[str]) -> list:
    if not tokens:
        return []
    changes = [change for change in changes_for(before) if change.token in tokens and not change.barred]
    if len(changes) < len(tokens):
        raise Refused([_edited_meanwhile()])
    return changes


def _edited_meanwhile() -> str:
    return _("A check or the circuit was edited in the meantime. Nothing was changed. Check the figures again.")


def _changed(stage: dict, changes: list) -> dict:
    """The stage with its changed checks; figure and stop limit of one check are two changes."""
    mine = [change for change in changes if change.stage == stage["key"]]
    if not mine:
        return stage
    checks = stage["check"]
    for change in mine:
        checks = [_put(check, change.then) if check["key"] == change.row["key"] else check for check in checks]
    return stage | {"check": checks}


def _put(check: dict, then: dict) -> dict:
    return {k: v for k, v in (check | then).items() if v != ""}


def _judge(draft, before: dict, after: dict) -> None:
    pictures = frozenset(draft.pictures.values_list("name", flat=True))
    verdict = judge_tables(before, after, pictures, _touched_checks(before, after))
    if not verdict.is_good:
        raise Refused([f"{p.label}: {p.message}" for p in (*verdict.own, *verdict.dangers)])


def _with_checks(stage: dict, rows: list[dict]) -> dict:
    if not rows:
        return stage
    order = {"order": [*stage["order"], *(row["key"] for row in rows)]} if stage.get("order") else {}
    return stage | {"check": [*stage.get("check", []), *rows]} | order


def _touched_checks(before: dict, after: dict) -> set[tuple[str, int]]:
    """The new and changed checks as the walker counts them, over all stages."""
    old = {(stage["key"], check["key"]): check for stage in before["stage"] for check in stage.get("check", [])}
    rows = [(stage["key"], check) for stage in after["stage"] for check in stage.get("check", [])]
    return {("stage.check", n) for n, (stage, check) in enumerate(rows) if old.get((stage, check["key"])) != check}
