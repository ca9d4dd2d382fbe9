"""Errata where they are needed: beside the step, the check or the stage they correct, after they were confirmed too."""

from datetime import datetime

from django.utils import timezone

from builds.bench import notices
from builds.bench.models import Build, Erratum
from builds.bench.readings.judged_again import judge_again, off_as_corrected
from builds.bench.valves.replaced import let_pass_no_longer
from builds.guides.models import Check, Revision


def reopen_corrected(erratum: Erratum) -> None:
    """A reading taken before its check was corrected passes no longer, in any build under way: it was judged by the
    figures as issued, at the place as issued. Where the figures themselves are corrected, what was read past a stop
    limit as it is now is a stop from now on."""
    if erratum.check_row is None:
        return
    for build in _under_way(erratum):
        let_pass_no_longer(build, [erratum.check_row])
        if erratum.correction_id:
            judge_again(build, erratum.check_row)
    if erratum.correction_id:
        _warn_of_finished(erratum, erratum.check_row)


def _warn_of_finished(erratum: Erratum, check: Check) -> None:
    """An amplifier that is signed off is in use: whoever built one that read past the stop limit as it is now, or out
    of the band, is told, and so are the designers."""
    for build in Build.objects.filter(revision=erratum.revision_id).exclude(finished_at=None):
        off = off_as_corrected(build, check)
        if off:
            notices.notify_of_finished_reading(erratum, off.reading, off.is_stop)


def correct_figures(erratum: Erratum, check: Check, **fields) -> None:
    """Let a new erratum's figures hold of its check from its own moment on, before `reopen_corrected`."""
    erratum.correction = check.corrections.create(at=erratum.at, **fields)
    erratum.save(update_fields=["correction"])
    _note_change(erratum, erratum.at)


def withdraw(erratum: Erratum) -> None:
    """Figures that it gave hold no longer: those before do again, and what was judged by them is read again."""
    now = timezone.now()
    erratum.withdrawn_at = now
    erratum.save(update_fields=["withdrawn_at"])
    if erratum.correction is None:
        return
    erratum.correction.withdrawn_at = now
    erratum.correction.save(update_fields=["withdrawn_at"])
    _note_change(erratum, now)
    reopen_corrected(erratum)


def _note_change(erratum: Erratum, moment: datetime) -> None:
    """Guides that processes keep in memory are kept under this moment."""
    revision = erratum.revision
    revision.corrected_at = max(filter(None, (moment, revision.corrected_at, timezone.now())))
    Revision.objects.filter(pk=revision.pk).update(corrected_at=revision.corrected_at)


def _under_way(erratum: Erratum):
    builds = Build.objects.filter(revision=erratum.revision_id, finished_at=None, given_up_at=None)
    return builds.select_related("revision", "meter", "builder").order_by("pk").select_for_update(of=("self",))


def active_errata(build: Build, stage) -> list[Erratum]:
    """The errata of one stage that stand. One query."""
    rows = Erratum.objects.filter(revision=build.revision_id, stage=stage, withdrawn_at=None)
    return list(rows.select_related("step", "check_row", "part", "correction"))


def errata_of_step(errata, step) -> list[Erratum]:
    """Those pinned to a step, or to a part that is fitted in it."""
    return [e for e in errata if e.step_id == step.pk or (e.part_id and e.part.ref in step.parts)]


def errata_of_check(errata, check) -> list[Erratum]:
    return [e for e in errata if e.check_row_id == check.pk]


def errata_of_stage(errata, steps) -> list[Erratum]:
    """Those about the whole stage, or about a part that none of its steps names."""
    fitted = {ref for step in steps for ref in step.parts}
    return [e for e in errata if not e.step_id and not e.check_row_id and not (e.part_id and e.part.ref in fitted)]
