"""Edits of the guide's text: decided on, planned, proposed from the builds, or still to be written."""

from dataclasses import dataclass

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from builds.guides.figures import load_factor
from builds.guides.row_labels import field_label, format_figures, limits_text, spaced
from builds.review.changes.case import Case
from builds.review.models import Decision
from builds.ui.formatting import format_figure as figure_text
from builds.ui.messages.findings import description
from builds.ui.messages.places import row_label
from builds.ui.messages.proposed_bands import basis
from builds.ui.rich_text import to_text
from builds.ui.word_diff import Piece, word_diff
from checks.quantity import format_quantity

SOURCES = {
    "accepted": _("accepted"),
    "planned": _("planned by the designer"),
    "proposed": _("suggested by the builds"),
    "to write": _("to be written"),
}
FIELDS = {
    "at_least": _("at least"),
    "at_most": _("at most"),
    "expected": _("expected value"),
    "band": _("tolerance band"),
    "figure and band": _("expected value and band"),
    "planned change": _("planned change"),
    "hint when low": _("hint when low"),
    "hint when high": _("hint when high"),
    "note": _("note"),
    "text": _("text of the step"),
    "words of the step": _("text of the step"),
    "intro": _("introduction of the stage"),
}
LIMITS = ("expected", "band", "low", "high", "at_least", "at_most")
WHOLE = ("expected", "band", "figure and band")
LEAST_BUILDS = 2  # builds with the same cause, before every builder is told of it


@dataclass(frozen=True)
class Edit:
    """One place of the guide: what it says, what it should say (None where somebody must write it), and why.

    Figures are written as the guide's own are, with a point in every language: they go into the guide as they are.

    `source` is one of SOURCES.
    """

    where: str
    what: str
    before: str
    after: str | None
    source: str
    why: str = ""

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """What changes, word by word and without Markdown's marks; a figure goes and comes as a whole."""
        if self.after is None:
            return ()
        if self.what in WHOLE or not self.before:
            parts = [
                ("out", self.before),
                ("same", " → " if self.before and self.after else ""),
                ("in", to_text(self.after)),
            ]
            return tuple(Piece(kind, text) for kind, text in parts if text)
        before, after = to_text(self.before), to_text(self.after)
        return (
            word_diff(before, after) if before != after else word_diff(self.before, self.after)
        )  # only the marks differ

    @property
    def source_label(self) -> str:
        return str(SOURCES[self.source])

    @property
    def what_label(self) -> str:
        """What is edited, in the reader's language."""
        return str(FIELDS.get(self.what, field_label(self.what)))


def of_check(case: Case, planned: str) -> tuple[Edit, ...]:
    """Edits of one check, the designer's own first; none where they were rejected."""
    check, decision = case.check, case.decision
    where = row_label(["check", check.stage.title, check.title])
    if decision is not None and decision.state == Decision.State.ACCEPTED:
        return accepted(decision)
    if decision is not None and decision.state == Decision.State.REJECTED:
        return ()
    if planned:
        return (Edit(where, "planned change", "", planned, "planned"),)
    return (*_figures(where, case), *_hints(where, check, case.confirmed), *_words(where, check, case.sense))


def accepted(decision) -> tuple[Edit, ...]:
    """What a decision wrote into the draft; a figure and its band are one edit."""
    rest = [e for e in decision.edits if e["field"] not in LIMITS]
    made = [Edit(row_label(e["where"]), e["field"], e["before"], e["after"], "accepted", decision.reason) for e in rest]
    check = decision.check_row or (decision.snag and decision.snag.check_row)
    figures = [e for e in decision.edits if e["field"] in LIMITS]
    if check and figures:
        before = {name: getattr(check, name) for name in LIMITS} | {e["field"]: e["before"] for e in figures}
        after = before | {e["field"]: e["after"] for e in figures}
        made.insert(
            0,
            Edit(
                row_label(figures[0]["where"]),
                "figure and band",
                format_figures(before),
                format_figures(after),
                "accepted",
                decision.reason,
            ),
        )
    return tuple(made)


def _figures(where, case: Case):
    """A figure and band from the builds, where the finding asks for them and nothing else was found to be the cause."""
    check, band, sense, proposal = case.check, case.band, case.sense, case.proposal
    if not proposal or not case.may_change_figures:
        return
    factor = load_factor(check)  # of figures that the designer read with a meter, and goes on to
    figure = format_quantity(proposal.figure / factor, check.unit, proposal.digits)
    if sense.kind == "figure off" and figure != check.expected:
        yield Edit(where, "expected", _expected_text(check, band), figure, "proposed", description(sense))
    band = limits_text(
        *(format_quantity(limit / factor, check.unit, proposal.digits) for limit in (proposal.low, proposal.high))
    )
    yield Edit(where, "band", _band_text(check), band, "proposed", basis(proposal))


def _expected_text(check, band) -> str:
    """The figure as the guide has it, with the circuit's where it is left to that."""
    if check.is_left_to_model and band.expected is not None:
        return gettext("%(value)s (calculated from the circuit)") % {"value": figure_text(band.expected, check.unit)}
    return check.expected


def _band_text(check) -> str:
    """The band as the guide has it."""
    if check.low or check.high:
        return limits_text(check.low, check.high)
    return f"± {spaced(check.band.lstrip('± '))}" if check.band else gettext("calculated from the circuit")


def _hints(where, check, causes):
    """A hint from every cause that was confirmed in LEAST_BUILDS builds and that the check does not give yet."""
    hint_texts = " ".join(hint.get("text", "") for hint in check.hints)
    for side, cause, serials in causes:
        if len(serials) >= LEAST_BUILDS and cause not in hint_texts:
            yield Edit(
                where,
                f"hint when {side}",
                "",
                gettext("Seen before: %(cause)s.") % {"cause": cause},
                "proposed",
                gettext("Confirmed root cause in %(serials)s.") % {"serials": ", ".join(serials)},
            )


def _words(where, check, sense):
    if sense.kind == "step unclear":
        yield Edit(
            where,
            "note",
            check.note,
            None,
            "to write",
            f"{gettext('Describe where to probe and what to wait for.')} {description(sense)}",
        )


def of_step(where: str, step, decisions, planned: str) -> tuple[Edit, ...]:
    """Edits of a step that builders stumbled over; `decisions` on its snags."""
    made = [e for d in decisions if d.state == Decision.State.ACCEPTED for e in accepted(d)]
    if made:
        return tuple(dict.fromkeys(made))
    if planned:
        return (Edit(where, "planned change", "", planned, "planned"),)
    if step is None or any(d.state == Decision.State.REJECTED for d in decisions):
        return ()
    return (
        Edit(
            where,
            "words of the step",
            step.text,
            None,
            "to write",
            gettext("Builders found this unclear. Their reports are listed with the finding."),
        ),
    )
