"""The model's figures as kept: asked for, found, and looked up for a check."""

from datetime import timedelta
from functools import lru_cache

from django.utils import timezone

from builds.guides.circuit.compute import compute
from builds.guides.circuit.content import build_content, make_key
from builds.guides.circuit.durations import Durations
from builds.guides.guide_cache import load_guide
from builds.guides.models import Check, CircuitFigures, Revision
from builds.jobs import queue
from builds.jobs.models import Job
from builds.jobs.registry import job

KIND = "circuit"
KEEP = timedelta(days=60)  # figures that no issued revision stands on; asked for again they are made again


@job(KIND)
def make_figures(report, revision_pk: int, key: str) -> str:
    """Compute and keep the figures of a revision as it is now; a draft edited since keeps them under its new
    content."""
    revision = Revision.objects.get(pk=revision_pk)
    content = build_content(revision, load_guide(revision))
    key_now = make_key(content)
    if not CircuitFigures.objects.filter(key=key_now).exists():  # edited and asked for again meanwhile, as a rule
        durations = Durations(report)
        detail = compute(content, durations.report)
        detail["took"] = durations.rows()
        CircuitFigures.objects.get_or_create(key=key_now, defaults={"detail": detail})
        _forget_old()
    return key_now


def _forget_old() -> None:
    """Figures of what drafts once were; those an issued revision or a build stands on stay for ever."""
    CircuitFigures.objects.filter(revisions=None, builds=None, made_at__lt=timezone.now() - KEEP).delete()


def left_to_model(revision) -> bool:
    """Does the revision leave a check's figure to its circuit?"""
    return Check.objects.filter(stage__revision=revision, expected__iexact="model").exists()


def compute_figures(revision, samples: int) -> CircuitFigures:
    """Compute and keep the figures of a revision while the caller waits."""
    content = build_content(revision, load_guide(revision))
    key = make_key(content)
    return (
        _by(key)
        or CircuitFigures.objects.get_or_create(key=key, defaults={"detail": compute(content, samples=samples)})[0]
    )


def figures_with(revision, guide, report=lambda done, total, text="": None) -> CircuitFigures:
    """The figures of a revision with the parts of `guide`, such as other valves in its sockets; computed if new."""
    content = build_content(revision, guide)
    key = make_key(content)
    return _by(key) or CircuitFigures.objects.get_or_create(key=key, defaults={"detail": compute(content, report)})[0]


def key_for(revision, guide=None) -> str:
    return make_key(build_content(revision, guide or load_guide(revision)))


def saved_figures(revision, guide=None) -> CircuitFigures | None:
    """The figures of a revision: those it was issued with, or those of its content (in `guide`, if at hand) as it is
    now."""
    if revision.figures_id:
        return revision.figures
    return _by(key_for(revision, guide))


def _by(key: str) -> CircuitFigures | None:
    return CircuitFigures.objects.filter(key=key).first()


def figures_or_job(revision, guide=None) -> tuple[CircuitFigures | None, Job | None]:
    """(figures, None) when they are there, else (None, the job that is making them). Never waits."""
    if revision.figures_id:
        return revision.figures, None
    key = key_for(revision, guide)
    figures = _by(key)
    if figures:
        return figures, None
    job_ = queue.start(KIND, key, revision.pk, key)
    if job_.state == job_.State.DONE:  # done at once, or for the same content of another revision
        figures = _by(key)
        return (figures, None) if figures else (None, queue.start(KIND, key, revision.pk, key, restart=True))
    return None, job_


def list_figures(revision, guide=None) -> dict:
    """{"stage/check": figure} of a revision (its `guide`, if at hand); empty while nothing is kept. Never begins
    anything."""
    if revision.is_draft:
        stored = saved_figures(revision, guide)
        return stored.detail["checks"] if stored else {}
    return _issued(revision.figures_id, revision.issued_at)


@lru_cache(maxsize=16)
def _issued(pk, issued_at) -> dict:
    # The moment of issue is part of the key: a database that is restored or rolled back may use a number again.
    return CircuitFigures.objects.get(pk=pk).detail["checks"] if pk else {}


def find_figure(check) -> dict | None:
    """The model's figure of one check, None where it has none. A guide's checks know theirs (see `attach`)."""
    if not hasattr(check, "model_figure"):
        attach(check.stage.revision, [check])
    return check.model_figure


def attach(revision, checks, figures: dict | None = None) -> None:
    """Give each check its model figure, and those of a draft their guide, so that nothing more is asked of the
    database: a draft's guide is fetched anew by whoever has none. `figures` as list_figures, if at hand."""
    strangers = [check for check in checks if not hasattr(check, "guide")] if revision.is_draft else []
    guide = load_guide(revision) if strangers else None
    for check in strangers:
        check.guide = guide
    figures = list_figures(revision, guide) if figures is None else figures
    for check in checks:
        figure = figures.get(f"{check.stage.key}/{check.key}")
        check.model_figure = figure if figure and "value" in figure else None
