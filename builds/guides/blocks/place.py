"""A block's answers checked and laid into the parts list."""

from builds.guides.blocks.model import Answers, Block
from builds.guides.wiring.wires import POINT
from checks.errors import ChecksError
from checks.quantity import parse_quantity


def place_block(block: Block, parts: list[dict], refs: dict, values: dict, entries: dict) -> tuple[list[dict], dict]:
    """(the parts list with the block in it, {field: error}); where there are errors the list is as it was."""
    errors = {**_missing(block, refs), **_unreadable(block, entries)}
    twice = {ref for ref in refs.values() if ref and [*refs.values()].count(ref) > 1}
    for name, ref in refs.items():
        if ref in twice:
            errors.setdefault(name, ChecksError("twice", code="role-twice", ref=ref))
    if errors:
        return parts, errors
    by_ref = {row["ref"]: row for row in parts}
    answers = Answers(dict(refs), values, entries, by_ref, {role.name: role for role in block.roles})
    try:
        block.lay(answers)
    except ChecksError as error:
        return parts, {error.argument or "": error}
    after = [answers.touched.get(row["ref"], row) for row in parts]
    return after + [row for ref, row in answers.touched.items() if ref not in by_ref], {}


def _missing(block: Block, refs: dict) -> dict:
    return {
        role.name: ChecksError("missing", code="role-missing", argument=role.name)
        for role in block.roles
        if role.is_needed and not refs.get(role.name)
    }


def _unreadable(block: Block, entries: dict) -> dict:
    """Points that cannot be one, figures that cannot be read, and what is left out."""
    errors = {}
    for ask in block.asks:
        text = entries.get(ask.name, "")
        try:
            if not text and ask.is_needed and not (ask.kind == "choice" and "" in dict(ask.choices)):
                raise ChecksError("missing", code="ask-missing", argument=ask.name)
            if text and ask.kind == "figure" and (parse_quantity(text, ask.unit).value or 0) <= 0:
                raise ChecksError("zero", code="ask-zero", argument=ask.name)
            if text and ask.kind == "point" and not POINT.fullmatch(text):
                raise ChecksError("point", code="no-point", argument=ask.name, typed=text)
            if ask.kind == "choice" and text not in dict(ask.choices):
                raise ChecksError("missing", code="ask-missing", argument=ask.name)
        except ChecksError as error:
            errors[ask.name] = error
    return errors
