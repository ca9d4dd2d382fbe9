"""Errata where they are needed: beside the step, the check or the stage they correct, after they were confirmed too."""

from builds.bench.models import Build, Erratum
from builds.bench.valves.replaced import let_pass_no_longer


def reopen_corrected(erratum: Erratum) -> None:
    """A reading taken before its check was corrected passes no longer, in any build under way: it was judged by the
    figures as issued, at the place as issued."""
    if erratum.check_row is None:
        return
    for build in Build.objects.filter(revision=erratum.revision_id, finished_at=None, given_up_at=None):
        let_pass_no_longer(build, [erratum.check_row])


def active_errata(build: Build, stage) -> list[Erratum]:
    """The errata of one stage that stand. One query."""
    rows = Erratum.objects.filter(revision=build.revision_id, stage=stage, withdrawn_at=None)
    return list(rows.select_related("step", "check_row", "part"))


def errata_of_step(errata, step) -> list[Erratum]:
    """Those pinned to a step, or to a part that is fitted in it."""
    return [e for e in errata if e.step_id == step.pk or (e.part_id and e.part.ref in step.parts)]


def errata_of_check(errata, check) -> list[Erratum]:
    return [e for e in errata if e.check_row_id == check.pk]


def errata_of_stage(errata, steps) -> list[Erratum]:
    """Those about the whole stage, or about a part that none of its steps names."""
    fitted = {ref for step in steps for ref in step.parts}
    return [e for e in errata if not e.step_id and not e.check_row_id and not (e.part_id and e.part.ref in fitted)]
