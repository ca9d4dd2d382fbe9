"""What is edited: a check, step, part or stage, by its keys, which are the same in every revision of a kit."""

import hashlib
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db.models import Model
from django.utils.translation import gettext as _

from builds.guides.editor.hint_lines import from_lines, to_lines
from builds.guides.guide_file import rules
from builds.guides.guide_file.plain import wrong_value
from builds.guides.models import Check, Part, Revision, Stage, Step
from builds.ui.errors import SiteError
from builds.ui.messages.places import row_label

LIMITS = ("expected", "band", "low", "high", "at_least", "at_most")
Row = Check | Step | Part | Stage
FIELDS = {
    "check": (*LIMITS, "title", "note", "hints"),
    "step": ("text",),
    "part": ("value", "note"),
    "stage": ("intro",),
}
KINDS: dict[type[Model], str] = {Check: "check", Step: "step", Part: "part", Stage: "stage"}
NEEDED = ("title", "text")
AS_ROW = (
    "measure",
    *LIMITS,
    "stop_above",
    "stop_below",
    "prototype",
    "source_resistance",
    "read_with",
    "through",
    "black",
    "red",
)


class Refused(ValueError):
    """Why a decision cannot be taken, as a sentence."""


@dataclass(frozen=True)
class Target:
    """A row by kind and keys; `stage` is empty for a part."""

    kind: str
    stage: str
    key: str

    @property
    def fields(self) -> tuple[str, ...]:
        return FIELDS[self.kind]

    @property
    def place(self) -> str:
        """As the comparison of revisions names it (builds/guides/guide_file/compare.py)."""
        if self.kind in ("part", "stage"):
            return f"{self.kind} {self.key}"
        return f"stage {self.stage}, {self.kind} {self.key}"

    def row_in(self, revision: Revision) -> Row | None:
        """The row in a revision, None where it has none."""
        if self.kind == "part":
            return Part.objects.filter(revision=revision, ref=self.key).first()
        if self.kind == "stage":
            return Stage.objects.filter(revision=revision, key=self.key).first()
        place = {"stage__revision": revision, "stage__key": self.stage, "key": self.key}
        if self.kind == "check":
            return Check.objects.select_related("stage").filter(**place).first()
        return Step.objects.select_related("stage").filter(**place).first()


def find_target(row: Row) -> Target:
    """Of a check, step, part or stage."""
    if isinstance(row, Part):
        return Target("part", "", row.ref)
    return Target(KINDS[type(row)], "" if isinstance(row, Stage) else row.stage.key, row.key)


def target_of_snag(snag) -> Target:
    """The narrowest thing the snag is about."""
    return find_target(snag.check_row or snag.step or snag.part or snag.stage)


def locate_row(row: Row) -> list:
    """The row as rows keep it: [kind, its stage's title, its name]. A label: `row_label`."""
    if isinstance(row, Part):
        return ["part", "", row.ref]
    if isinstance(row, Stage):
        return ["stage", row.title, ""]
    return [KINDS[type(row)], row.stage.title, row.title if isinstance(row, Check) else row.position]


def make_label(row: Row) -> str:
    """The row for people: its stage and title, or its reference."""
    return row_label(locate_row(row))


def where_decided(decision) -> list:
    """What a decision is about: its stage and check or step, its part, or its stage."""
    snag = decision.snag
    return locate_row(decision.check_row or snag.check_row or snag.step or snag.part or snag.stage)


def decision_label(decision) -> str:
    return row_label(where_decided(decision))


def get_text(row: Model, field: str) -> str:
    """A field as the form shows it, with plain line ends."""
    value = getattr(row, field)
    return to_lines(value) if field == "hints" else value.replace("\r\n", "\n").strip()


def normalise(field: str, typed: str) -> str:
    """Typed words as `get_text` will give them back. Raises Refused for hints that do not say when."""
    try:
        return to_lines(from_lines(typed)) if field == "hints" else typed
    except SiteError as error:
        raise Refused(str(error)) from error


def set_text(row: Model, field: str, typed: str) -> None:
    setattr(row, field, from_lines(typed) if field == "hints" else typed)


def digest(row: Model | None) -> str:
    """A mark of what a row says now, to find a form that was filled from other words."""
    text = "\0".join(get_text(row, field) for field in FIELDS[KINDS[type(row)]]) if row is not None else ""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def validate(row: Row) -> None:
    """By the same rules as the editor's. Raises Refused."""
    kind = KINDS[type(row)]
    for field in FIELDS[kind]:
        if field in NEEDED and not get_text(row, field):
            raise Refused(_("A check needs its title.") if kind == "check" else _("A step needs its text."))
        if wrong := wrong_value(kind, field, getattr(row, field)):
            raise Refused(f"{field} {wrong}")
    for key, message in _rules(row):
        raise Refused(f"{key} {message}")
    try:
        row.clean_fields(exclude=[f.name for f in row._meta.fields if f.name not in FIELDS[kind]])
    except ValidationError as error:
        raise Refused(
            " ".join(f"{key}: {' '.join(messages)}" for key, messages in error.message_dict.items())
        ) from error


def _rules(row: Row):
    if isinstance(row, Check):
        return rules.check_rules({name: getattr(row, name) for name in AS_ROW if getattr(row, name)})
    if isinstance(row, Part):
        own = {"kind": row.kind, "value": row.value, "tolerance": row.tolerance}
        return rules.part_rules({k: v for k, v in own.items() if v} | row.detail)
    return ()
