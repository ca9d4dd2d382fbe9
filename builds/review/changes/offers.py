"""The form that accepts: what the next draft says now, field by field, with what is proposed in its place."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from builds.guides.guide_cache import Guide, load_guide
from builds.guides.models import Revision
from builds.review.changes.targets import Target, digest, find_target, get_text, make_label, target_of_snag

LABELS = {
    "expected": _("Expected value"),
    "band": _("Band ±"),
    "low": _("Band from"),
    "high": _("Band to"),
    "at_least": _("At least"),
    "at_most": _("At most"),
    "title": _("Title"),
    "note": _("Note"),
    "hints": _("Hints"),
    "text": _("Text of the step"),
    "value": _("Value"),
    "intro": _("Introduction"),
}
HELP = {"hints": _("One per line: low, high or off, then a colon and the text.")}
ROWS = {"note": 2, "hints": 3, "text": 3, "intro": 3}  # of a text area; the rest is typed on one line


@dataclass(frozen=True)
class Field:
    """One field: `now` is what the draft says, `value` what the form is filled with."""

    name: str
    label: str
    now: str
    value: str
    rows: int = 0
    help: str = ""

    @property
    def is_changed(self) -> bool:
        return self.now != self.value


@dataclass(frozen=True)
class Offer:
    """The fields of one row of `letter`, called `name` by people.

    `seen`: the digest of that row as they were filled from it; `ident`: the end of their ids.
    """

    target: Target
    letter: str
    name: str
    fields: tuple[Field, ...]
    seen: str
    ident: str

    @property
    def is_step(self) -> bool:
        return self.target.kind == "step"

    @property
    def figures(self) -> tuple[Field, ...]:
        return tuple(f for f in self.fields if not f.rows and f.name != "title")

    @property
    def words(self) -> tuple[Field, ...]:
        return tuple(f for f in self.fields if f.rows or f.name == "title")


class Offers:
    """Offers over the guide that accepted changes will be written over. No query for an issued one, five for a
    draft."""

    def __init__(self, base: Revision, typed=None):
        self.base, self.guide, self.typed = base, load_guide(base), typed
        self.rows = {find_target(row): row for row in _rows(self.guide)}

    def of(
        self, target: Target, ident: str, proposed: dict[str, str] | None = None, *, typed=None, prefix: str = ""
    ) -> Offer | None:
        """None where the guide has no such row any more. `typed`: a refused form's data, given back as it came."""
        row = self.rows.get(target)
        if row is None:
            return None
        fields = tuple(self._field(row, name, proposed or {}, typed, prefix) for name in target.fields)
        return Offer(target, self.base.letter, make_label(row), fields, digest(row), ident)

    def of_snag(self, snag, typed=None) -> Offer | None:
        return self.of(target_of_snag(snag), f"snag-{snag.pk}", typed=typed)

    def list_steps(self, stage_key: str, ident: str, typed=None) -> list[Offer]:
        """The words of every step of a stage, as fields `step-KEY`."""
        targets = [t for t in self.rows if t.kind == "step" and t.stage == stage_key]
        offers = (self.of(target, ident, typed=typed, prefix=f"step-{target.key}") for target in targets)
        return [offer for offer in offers if offer is not None]

    def _field(self, row, name, proposed, typed, prefix) -> Field:
        now, sent = get_text(row, name), prefix or name
        value = proposed.get(name, now)
        value = typed[sent] if typed is not None and sent in typed else value
        return Field(sent, str(LABELS[name]), now, value, ROWS.get(name, 0), str(HELP.get(name, "")))


def _rows(guide: Guide):
    yield from guide.parts.values()
    for stage in guide.stages:
        yield stage
        for step in stage.steps.all():
            step.stage = stage
            yield step
        yield from stage.checks.all()
