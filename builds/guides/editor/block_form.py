"""The form of a building block: what it asks, filled with what the parts list suggests, and placing it."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.guides.blocks import BLOCKS, place_block
from builds.guides.blocks.guess import guess_refs
from builds.guides.blocks.heater_guess import guess_heater
from builds.guides.blocks.points_guess import guess_points
from builds.guides.blocks.rectifier_guess import guess_arrangement
from builds.guides.blocks.transformer_guess import guess_heater_amps, guess_transformer
from builds.guides.editor.conflicts import no_version_message
from builds.guides.editor.edits import one_edit, tables_key
from builds.guides.editor.judging import changed_rows, judge_tables
from builds.guides.editor.wiring_table import wire_message
from builds.guides.guide_file.apply import apply_tables
from builds.guides.parts_import.preview import part_on_one_line
from builds.guides.row_labels import field_label
from checks.errors import ChecksError


@dataclass(frozen=True)
class Line:
    """One line of the form: a role with its reference and value, or an ask with what was said."""

    name: str
    item: object
    text: str
    value: str = ""
    now: str = ""  # what the part in the list says
    error: str = ""


def list_lines(block, parts: list[dict], post=None, errors=None) -> tuple[list[Line], list[Line]]:
    """(roles, asks), as posted, or as the parts list suggests."""
    errors = errors or {}
    refs = {role.name: post.get(f"ref-{role.name}", "") for role in block.roles} if post else guess_refs(block, parts)
    gists = {row["ref"]: part_on_one_line(row) for row in parts}
    roles = [
        Line(
            role.name,
            role,
            refs[role.name],
            post.get(f"value-{role.name}", "") if post else "",
            gists.get(refs[role.name], ""),
            errors.get(role.name, ""),
        )
        for role in block.roles
    ]
    guessed = guess_points(block, parts, refs) | guess_transformer(parts, refs)
    if block.key == "heaters":
        heater = guess_heater(parts)
        guessed |= {"amps": ""} | heater | guess_heater_amps(parts, refs, heater.get("volts", ""))
    asks = [
        Line(ask.name, ask, _find_entry(ask, parts, refs, post, guessed), error=errors.get(ask.name, ""))
        for ask in block.asks
    ]
    return roles, asks


def _find_entry(ask, parts, refs, post, guessed: dict[str, str]) -> str:
    if post:
        return post.get(f"ask-{ask.name}", "")
    if ask.name in guessed:
        return guessed[ask.name]
    if ask.kind == "choice" and ask.name == "how" and ask.choices[0][0] == "centre":
        return guess_arrangement(parts, refs)
    if ask.name == "ground" and not (refs.get("ra") and refs.get("rb")):
        return "side"
    return ask.default


def place(draft, person, key: str, post) -> dict[str, str]:
    """Place a block as one edit; returns {field: sentence}, empty where it was placed."""
    block = BLOCKS[key]
    refs = {role.name: post.get(f"ref-{role.name}", "").strip() for role in block.roles}
    values = {role.name: post.get(f"value-{role.name}", "").strip() for role in block.roles}
    entries = {ask.name: post.get(f"ask-{ask.name}", "").strip() for ask in block.asks}
    entries["mains"] = f"{draft.mains_volts} V"
    try:
        with one_edit(draft, person, "block", str(block.title)) as before:
            _refuse_stale(before["part"], post.get("version", ""))
            parts, errors = place_block(block, before["part"], refs, values, entries)
            messages = {name: block_message(error) for name, error in errors.items()}
            after = before | {"part": parts}
            if not messages:
                messages = _judged(draft, before, after)
            if messages:
                raise _Refused(messages)
            apply_tables(draft, after)
    except _Refused as refusal:
        return refusal.args[0]
    return {}


class _Refused(Exception):
    pass


def parts_version(parts: list[dict]) -> str:
    """The version of the parts list that a form was made from: its values and references are typed over that list."""
    return tables_key(parts)[:16]


def _refuse_stale(parts: list[dict], seen: str) -> None:
    if not seen:
        raise _Refused({"": no_version_message()})
    if seen != parts_version(parts):
        raise _Refused(
            {
                "": _(
                    "The parts list was edited in the meantime. Check the references and values, and place "
                    "the block again."
                )
            }
        )


def _judged(draft, before, after) -> dict[str, str]:
    pictures = frozenset(draft.pictures.values_list("name", flat=True))
    verdict = judge_tables(before, after, pictures, changed_rows("part", before["part"], after["part"], "ref"))
    sentences = [f"{problem.label}: {problem.message}" for problem in (*verdict.own, *verdict.dangers)]
    return {"": " ".join(sentences)} if sentences else {}


def block_message(error: ChecksError) -> str:
    p = error.params
    sentences = {
        "heater-cathode": lambda: (
            _(
                "The heater of %(ref)s is joined to its cathode, so it is at HT. Give it a winding of its own that is "
                "connected to nothing else, and name the point of its cathode as one end."
            )
            % p
        ),
        "bias-bridged": lambda: (
            _(
                "%(point)s feeds a bridge, so it never goes more than a volt below the chassis and gives no bias. Give "
                "the bias a winding of its own with one end at the chassis, and name its other end here."
            )
            % p
        ),
        "no-grid-leak": lambda: _(
            "This grid would float: only capacitors lead to it. Give a grid leak resistor, such as a new R20 of 1M."
        ),
        "choke-ohms": lambda: (
            _("%(ref)s is a choke and needs its DC resistance. Enter it beside the reference, such as 300 Ω.") % p
        ),
        "other-mains": lambda: (
            _(
                "The note of %(ref)s gives a primary of %(said)s, but this guide is for mains of %(mains)s. Change the "
                "mains under “Edit name and mains” first, or correct the note."
            )
            % p
        ),
        "role-missing": lambda: _("This part is needed here. Give its reference."),
        "role-twice": lambda: _("%(ref)s is named twice. Name each part once.") % p,
        "role-kind": lambda: (
            _("%(ref)s is of the kind “%(kind)s”. Accepted here: %(kinds)s.") % (p | {"kinds": ", ".join(p["kinds"])})
        ),
        "role-value": lambda: p["words"],
        "role-wired": lambda: (
            _("%(ref)s (%(end)s) is joined to %(point)s already, and this block would join it to %(wanted)s.")
            % (p | {"end": field_label(p["end"])})
        ),
        "ask-missing": lambda: _("This field is required."),
        "ask-zero": lambda: _("This must be above zero."),
        "tap-share": lambda: _("The tap must be from 5 % to 95 % of the turns."),
        "no-valve": lambda: _("The parts list has no valve %(ref)s with pins.") % p,
        "no-heater": lambda: _("%(ref)s has no heater pins. Give them on its page.") % p,
    }
    if error.code in sentences:
        return sentences[error.code]()
    return wire_message(error)
