"""The life of a revision: cloned as a draft, issued (frozen), withdrawn."""

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from builds.guides.circuit.fault_dictionary import request_fault_dictionary
from builds.guides.circuit.stored import figures_or_job, left_to_model, saved_figures
from builds.guides.figures import designers_band, is_model
from builds.guides.guide_file.compare import differences
from builds.guides.guide_file.store import store_rows
from builds.guides.guide_file.write import as_data
from builds.guides.models import Kit, Revision
from builds.guides.objections import Level, objections_to
from builds.guides.signals import revision_issued
from builds.ui.messages.circuit import remark_sentence
from builds.ui.messages.errors import message_for
from checks.errors import ChecksError


class NotReady(ValueError):
    """Why a revision cannot be issued, as a sentence."""


class ReasonNeeded(NotReady):
    """Serious objections stand against the guide, and no reason is written down."""


class FiguresPending(NotReady):
    """The circuit's figures that it needs are not there yet; they have been asked for."""


def hold(kit_pk: int) -> None:
    """Have the kit to oneself until the transaction ends: whoever else makes, issues or edits a draft of it by a
    decision waits."""
    Kit.objects.select_for_update().get(pk=kit_pk)


def next_letter(kit) -> str:
    """The letter after the last: B after A, AA after Z; for other names the name with a 2 after it."""
    letters = list(kit.revisions.values_list("letter", flat=True))
    last = max(letters, key=lambda x: (len(x), x), default="")
    if not last:
        return "A"
    if not (last.isalpha() and last.isupper()):
        return f"{last[:6]}2" if f"{last[:6]}2" not in letters else f"{last[:5]}3"
    return last[:-1] + chr(ord(last[-1]) + 1) if last[-1] != "Z" else last[:-1] + "AA"


def issue_reviewed(revision: Revision, reason: str = "") -> Revision:
    """Issue a draft as its designer does: over serious objections only with a written reason, which is kept with them.

    Raises ReasonNeeded where that is missing, and NotReady as `issue`.
    """
    _refuse_unless_draft(revision)
    _await_figures(revision)
    serious = [o for o in objections_to(revision) if o.level is not Level.SHOWN]
    if any(o.level is Level.SERIOUS for o in serious) and not reason.strip():
        raise ReasonNeeded(_("This guide has serious objections. Correct them, or give your reason for issuing it."))
    over = {"reason": reason.strip(), "objections": [o.as_dict() for o in serious]} if serious else None
    return issue(revision, over=over)


def issue(revision: Revision, *, over: dict | None = None) -> Revision:
    """Freeze a draft for ever, `over` the objections written down in it. Raises NotReady when nothing can be built
    from it, or a check would touch the mains."""
    _refuse_unless_draft(revision)
    _await_figures(revision)  # before the transaction, which a refusal would undo, and what has been asked for with it
    return _issue(revision, over)


def _refuse_unless_draft(revision: Revision) -> None:
    if not revision.is_draft:
        raise NotReady(
            _("Revision %(letter)s is no longer a draft: it is %(state)s.")
            % {"letter": revision.letter, "state": revision.state_label}
        )


@transaction.atomic
def _issue(revision: Revision, over: dict | None) -> Revision:
    hold(revision.kit_id)
    revision.refresh_from_db(fields=["state"])
    _refuse_unless_draft(revision)
    stages = revision.stages.prefetch_related("steps", "checks")
    _refuse_unbuildable(stages)
    _refuse_mains_probes(revision)
    revision.figures = _model_figures(revision, stages)
    revision.state, revision.issued_at, revision.issued_over = Revision.State.ISSUED, timezone.now(), over
    revision.save(update_fields=["state", "issued_at", "issued_over", "figures"])
    revision_issued.send(Revision, revision=revision)
    request_fault_dictionary(revision)  # what may be wrong is prepared while the first kits are in the post
    return revision


def _refuse_unbuildable(stages) -> None:
    if not stages:
        raise NotReady(_("A guide needs at least one stage before it can be issued."))
    if empty := [s.title for s in stages if not (s.steps.all() or s.checks.all())]:
        raise NotReady(_("These stages have no steps and no checks: %(stages)s.") % {"stages": ", ".join(empty)})
    if uncautioned := [s.title for s in stages if s.is_powered and not s.cautions]:
        raise NotReady(_("These powered stages show no cautions: %(stages)s.") % {"stages": ", ".join(uncautioned)})


def _refuse_mains_probes(revision) -> None:
    probing = [o for o in objections_to(revision) if o.level is Level.BLOCKS]
    if probing:
        places = "; ".join(o.params["where"] for o in probing)
        raise NotReady(_("These checks would put a probe on the mains: %(places)s.") % {"places": places})


def _await_figures(revision):
    """Ask for the circuit's figures when a check is left to them. Raises FiguresPending, or NotReady when they
    failed."""
    if not left_to_model(revision):
        return
    figures, job = figures_or_job(revision)
    if not figures and job and job.state == job.State.FAILED:
        raise NotReady(
            _("Some checks take their figures from the circuit model, which could not be computed. %(error)s")
            % {"error": job.error_message}
        )
    if not figures:
        raise FiguresPending(
            _(
                "Some checks take their figures from the circuit model, which is still being computed. Try again "
                "in a moment."
            )
        )


def _model_figures(revision, stages):
    """The circuit's figures that are frozen with the revision; None when they are not there and no check needs them.

    Raises NotReady for checks left to the model that it has no figure for, and for bands that contradict themselves.
    """
    checks = [check for stage in stages for check in stage.checks.all()]
    stored = saved_figures(revision)
    for check in checks:
        figure = stored and stored.detail["checks"].get(f"{check.stage.key}/{check.key}")
        check.model_figure = figure if figure and "value" in figure else None
    without = [_reason(check, stored) for check in checks if is_model(check) and _band(check) is None]
    if without:
        raise NotReady(
            _("The circuit gives no figure for: %(checks)s. Give these a figure of your own.")
            % {"checks": ", ".join(without)}
        )
    return stored


def _reason(check, model) -> str:
    """The check, and why the circuit says nothing of it where that is known."""
    figure = model and model.detail["checks"].get(f"{check.stage.key}/{check.key}")
    if not figure or not figure.get("reason"):
        return check.title
    return f"{check.title} ({remark_sentence(figure['reason']).rstrip('.')})"


def _band(check):
    try:
        return designers_band(check)
    except ChecksError as error:
        raise NotReady(f"{check.title}: {message_for(error)}") from error


def withdraw(revision: Revision) -> Revision:
    if revision.state != Revision.State.ISSUED:
        raise NotReady(_("Only an issued revision can be withdrawn."))
    revision.state = Revision.State.WITHDRAWN
    revision.save(update_fields=["state"])
    return revision


@transaction.atomic
def clone(revision: Revision, letter: str = "") -> Revision:
    """A new draft with the same guide; `letter` defaults to the next free one. Holds the kit, so that no two take one
    letter."""
    hold(revision.kit_id)
    data = as_data(revision)
    draft = Revision.objects.create(
        kit=revision.kit,
        letter=letter or next_letter(revision.kit),
        name=revision.name,
        summary=revision.summary,
        mains_volts=revision.mains_volts,
        mains_hertz=revision.mains_hertz,
        taps=revision.taps,
        own_faults=revision.own_faults,
        translations=revision.translations,
        cloned_from=revision,
    )
    store_rows(draft, data)
    return draft


@transaction.atomic
def new_draft(revision: Revision) -> Revision:
    """A draft to go on from: the latest made from this revision where nothing of it has been changed yet (a second tap
    makes no second draft), else a new one."""
    hold(revision.kit_id)
    latest = revision.clones.filter(state=Revision.State.DRAFT).order_by("-made_at", "-pk").first()
    return latest if latest and not differences(revision, latest) else clone(revision)
