"""What was decided ON a revision's findings and snags, rejected and deferred too, and what the revision made from it
says otherwise: the list of the fault summary.

What was written INTO a revision, recorded for good when it is issued, is builds/review/changes/record.py.
"""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.guides.guide_file.compare import by_figure
from builds.reports.edits import Edit, accepted
from builds.review.changes.answers import answered_by
from builds.review.changes.record import by_hand, pinned_errata
from builds.review.changes.targets import decision_label
from builds.review.models import Decision
from builds.ui.rich_text import quote


@dataclass(frozen=True)
class Decided:
    """One decision with its edits (none when rejected or put off), its evidence, and whom it answers."""

    about: str
    state: str
    letter: str  # of the revision that the edit went into
    edits: tuple[Edit, ...]
    reason: str
    evidence: str
    answers: str  # serials of the builds whose snags it answers
    at: object
    code: str  # of the decision: accepted, rejected or deferred

    @property
    def decided(self) -> str:
        """As files have it, whatever the language: schema 1 says "put off" for what is deferred."""
        return "put off" if self.code == Decision.State.DEFERRED else self.code

    @property
    def state_text(self) -> str:
        """The decision and the revision it went into: "accepted, in B"."""
        if not self.letter:
            return self.state
        return _("%(state)s, in %(letter)s") % {"state": self.state, "letter": self.letter}

    @property
    def evidence_text(self) -> str:
        """The evidence, and whose snags the change answers."""
        if not self.answers:
            return self.evidence
        return _("%(evidence)s (answers the snags of %(serials)s)") % {
            "evidence": self.evidence,
            "serials": self.answers,
        }


@dataclass(frozen=True)
class DecidedList:
    """Decisions in the order they were taken; `by_hand`: differences of the next revision that no decision made."""

    next: object | None
    changes: tuple[Decided, ...]
    by_hand: tuple
    errata: tuple

    @property
    def accepted(self) -> tuple[Decided, ...]:
        return tuple(c for c in self.changes if c.code == Decision.State.ACCEPTED)

    @property
    def other_edits(self) -> list:
        """`by_hand` with the figure and band of a check as one change."""
        return by_figure(self.by_hand)

    def __bool__(self):
        return bool(self.changes or self.by_hand or self.errata)


def decided_on(revision) -> DecidedList:
    """Of a revision's own findings: what goes, or went, into the one made from it."""
    decisions = list(
        revision.decisions.select_related(
            "draft",
            "check_row__stage",
            "snag__stage",
            "snag__step__stage",
            "snag__check_row__stage",
            "snag__part",
            "snag__build",
        )
    )
    following = revision.clones.order_by("-made_at").first()
    made = [d for d in decisions if d.state == Decision.State.ACCEPTED]
    other = by_hand(revision, following, [d for d in made if d.draft_id == following.pk]) if following else ()
    answers = answered_by(made)
    changes = tuple(_decided(d, answers.get(d.pk, ())) for d in decisions)
    return DecidedList(following, changes, other, tuple(pinned_errata(revision)))


def _decided(decision, answered) -> Decided:
    snag = decision.snag
    evidence = decision.evidence_text or (quote(snag.words) if snag else "")
    letter = decision.draft.letter if decision.draft else ""
    return Decided(
        decision_label(decision),
        decision.get_state_display(),
        letter,
        accepted(decision),
        decision.reason,
        evidence,
        ", ".join(dict.fromkeys(s.build.serial for s in answered)) or (snag.build.serial if snag else ""),
        decision.at,
        decision.state,
    )
