"""The change list: put together while a revision is a draft, recorded when it is issued, and read from that record from
then on."""

from dataclasses import asdict, dataclass, replace
from datetime import datetime

from django.db import transaction

from builds.guides.guide_file.compare import Difference, by_figure, differences
from builds.guides.models import Revision
from builds.review.changes.answers import ASIDE, accepted_into, answer_snags, answered_by
from builds.review.changes.drafts import places_of
from builds.review.changes.targets import decision_label
from builds.review.models import IssuedChanges


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
    about: str
    of: str
    edits: list
    reason: str
    evidence: str
    snags: tuple[Answered, ...]


@dataclass(frozen=True)
class Erratum:
    """A correction of the revision before that was pinned and not taken back."""

    stage: str
    about: str
    words: str


@dataclass(frozen=True)
class Aside:
    """A finding or snag that was rejected or deferred, with the reason."""

    state: str
    about: str
    words: str
    reason: str


@dataclass(frozen=True)
class Listed:
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


def changes_of(revision: Revision) -> Listed:
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


def _put_together(revision, decisions, answers) -> Listed:
    before = revision.cloned_from
    changes = tuple(
        Change(
            d.pk,
            decision_label(d),
            d.revision.letter,
            [{k: e[k] for k in ("where", "field", "before", "after")} for e in d.edits],
            d.reason,
            d.evidence,
            tuple(Answered(s.pk, s.build.serial, s.words) for s in answers[d.pk]),
        )
        for d in decisions
    )
    if before is None:
        return Listed(changes, (), (), ())
    decided = {place for d in decisions for place in places_of(d)}
    by_hand = tuple(d for d in differences(before, revision) if (d.where, d.key) not in decided)
    return Listed(changes, by_hand, _errata(before), _aside(before))


def _errata(before) -> tuple[Erratum, ...]:
    rows = before.errata.filter(withdrawn_at=None).select_related("stage", "step", "check_row", "part")
    return tuple(Erratum(e.stage.title, e.about, e.words) for e in rows)


def _aside(before) -> tuple[Aside, ...]:
    rows = before.decisions.filter(state__in=ASIDE).select_related(
        "check_row__stage", "snag__stage", "snag__step__stage", "snag__check_row__stage", "snag__part"
    )
    return tuple(
        Aside(d.get_state_display(), decision_label(d), d.snag.words if d.snag else "", d.reason) for d in rows
    )


def _read(listed: dict, at) -> Listed:
    kinds = {"by_hand": Difference, "errata": Erratum, "aside": Aside}
    rest = {name: tuple(kind(**row) for row in listed[name]) for name, kind in kinds.items()}
    changes = tuple(Change(**row | {"snags": tuple(Answered(**s) for s in row["snags"])}) for row in listed["changes"])
    return replace(Listed(changes, **rest), written=at)
