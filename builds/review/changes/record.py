"""The change list of a revision: what was written INTO it since the one before. Put together while it is a draft,
recorded when it is issued, and read from that record from then on.

The fault summary has another list, of what was decided ON a revision's findings (builds/reports/decided.py): with what
was rejected, and with edits in the reader's words. This one is kept as data and never changes once issued.
"""

from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any

from django.db import transaction

from builds.guides.guide_file.compare import Difference, by_figure, differences
from builds.guides.models import Revision
from builds.review.changes.answers import ASIDE, accepted_into, answer_snags, answered_by
from builds.review.changes.drafts import list_places
from builds.review.changes.targets import where_decided
from builds.review.models import Decision, IssuedChanges
from builds.ui.messages.findings import evidence_sentence
from builds.ui.messages.places import pin_label, row_label


@dataclass(frozen=True)
class Answered:
    """A snag that a change answers."""

    id: int
    serial: str
    words: str


@dataclass(frozen=True)
class Change:
    """One accepted decision (its id, to find out later whether it worked): what it is about, on which revision it was
    taken, the edits {"where", "field", "before", "after"}, why, on what evidence, and the snags it answers."""

    decision: int
    about: list | str
    of: str
    edits: list
    reason: str
    evidence: str
    snags: tuple[Answered, ...]
    basis: dict | None = None

    @property
    def label(self) -> str:
        return row_label(self.about)

    @property
    def evidence_text(self) -> str:
        return evidence_sentence(self.basis) if self.basis else self.evidence


@dataclass(frozen=True)
class Erratum:
    """A correction of the revision before that was pinned and not taken back."""

    stage: str
    about: list | tuple | str
    words: str

    @property
    def label(self) -> str:
        return pin_label(self.about)


@dataclass(frozen=True)
class Aside:
    """A finding or snag that was rejected or deferred, with the reason."""

    state: str
    about: list | str
    words: str
    reason: str

    @property
    def label(self) -> str:
        return row_label(self.about)

    @property
    def state_label(self) -> str:
        """In the reader's language; lists of old have the word itself."""
        return str(Decision.State(self.state).label) if self.state in Decision.State.values else self.state


@dataclass(frozen=True)
class ChangeList:
    """The whole list. `written`: when it was written down; None for a draft, and for what was issued before lists were
    kept."""

    changes: tuple[Change, ...]
    by_hand: tuple[Difference, ...]
    errata: tuple[Erratum, ...]
    aside: tuple[Aside, ...]
    written: datetime | None = None

    @property
    def edits_by_hand(self) -> list[Difference]:
        """`by_hand` as a person reads it: a check's figure and band are one change."""
        return by_figure(self.by_hand)


def list_changes(revision: Revision) -> ChangeList:
    """As recorded, else as it is now."""
    recorded = IssuedChanges.objects.filter(revision=revision).first()
    if recorded is not None:
        return _read(recorded.listed, recorded.at)
    decisions = accepted_into(revision)
    return _put_together(revision, decisions, answered_by(decisions))


@transaction.atomic
def record_changes(issued: Revision) -> IssuedChanges:
    """Keep the list as it is now, and answer the snags on it. In the transaction that freezes the revision."""
    decisions = accepted_into(issued)
    answers = answered_by(decisions)
    recorded = IssuedChanges.objects.create(
        revision=issued, listed=asdict(_put_together(issued, decisions, answers)) | {"written": None}
    )
    recorded.snags.add(*(snag for snags in answers.values() for snag in snags))
    answer_snags(issued, decisions, answers)
    return recorded


def _put_together(revision, decisions, answers) -> ChangeList:
    before = revision.cloned_from
    changes = tuple(
        Change(
            d.pk,
            where_decided(d),
            d.revision.letter,
            [{k: e[k] for k in ("where", "field", "before", "after")} for e in d.edits],
            d.reason,
            d.evidence,
            tuple(Answered(s.pk, s.build.serial, s.words) for s in answers[d.pk]),
            d.basis,
        )
        for d in decisions
    )
    if before is None:
        return ChangeList(changes, (), (), ())
    errata = tuple(Erratum(e.stage.title, list(e.pin), e.told) for e in pinned_errata(before))
    return ChangeList(changes, by_hand(before, revision, decisions), errata, _aside(before))


def by_hand(before: Revision, after: Revision, decisions) -> tuple[Difference, ...]:
    """What differs between two revisions and was not written by any of these accepted decisions."""
    decided = {place for d in decisions for place in list_places(d)}
    return tuple(d for d in differences(before, after) if (d.where, d.key) not in decided)


def pinned_errata(revision: Revision):
    """Rows of the corrections that are pinned to a revision and not withdrawn."""
    return revision.errata.filter(withdrawn_at=None).select_related("stage", "step", "check_row", "part", "correction")


def _aside(before) -> tuple[Aside, ...]:
    rows = before.decisions.filter(state__in=ASIDE).select_related(
        "check_row__stage", "snag__stage", "snag__step__stage", "snag__check_row__stage", "snag__part"
    )
    return tuple(Aside(d.state, where_decided(d), d.snag.words if d.snag else "", d.reason) for d in rows)


def _read(listed: dict, at) -> ChangeList:
    kinds = {"by_hand": Difference, "errata": Erratum, "aside": Aside}
    rest: dict[str, Any] = {name: tuple(kind(**row) for row in listed[name]) for name, kind in kinds.items()}
    changes = tuple(Change(**row | {"snags": tuple(Answered(**s) for s in row["snags"])}) for row in listed["changes"])
    return replace(ChangeList(changes, **rest), written=at)
