"""An issued guide never changes, so its rows are fetched once a process and shared."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

from builds.guides.models import Check, FigureCorrection, Part, Picture, Revision, Stage
from builds.guides.probes import ProbeMap

# What an erratum may correct of a check
FIGURE_FIELDS = ("expected", "band", "low", "high", "at_least", "at_most", "stop_below", "stop_above")


@dataclass(frozen=True)
class Guide:
    """A revision's rows, at hand. Read only: processes and threads share them."""

    stages: tuple[Stage, ...]
    parts: dict[str, Part]
    pictures: dict[str, Picture]
    probes: ProbeMap

    @cached_property
    def memo(self) -> dict:
        """What others work out from the guide once, by name."""
        return {}

    @cached_property
    def checks(self) -> dict:
        """Key -> check, each with its stage at hand."""
        return {check.key: check for stage in self.stages for check in stage.checks.all()}

    @cached_property
    def by_id(self) -> dict[int, Check]:
        return {check.pk: check for stage in self.stages for check in stage.checks.all()}

    @cached_property
    def powered(self) -> frozenset[int]:
        """Ids of the checks that are read with the power on."""
        return frozenset(check.pk for stage in self.stages if stage.is_powered for check in stage.checks.all())


def load_guide(revision: Revision) -> Guide:
    """The guide of a revision with the figures that hold: five queries for a draft, none for an issued one this
    process has met."""
    if revision.state == Revision.State.DRAFT:
        return fetch_guide(revision.pk)
    return _frozen(revision.pk, revision.issued_at, revision.corrected_at)


def fetch_guide(revision_pk) -> Guide:
    """The same, shared with nobody."""
    revision = Revision.objects.prefetch_related("parts", "points", "pictures").get(pk=revision_pk)
    stages = tuple(Stage.objects.filter(revision=revision_pk).prefetch_related("steps", "checks"))
    for stage in stages:
        stage.revision = revision  # known already: nothing is to be asked for again
        for check in stage.checks.all():
            check.stage = stage
    guide = Guide(
        stages,
        {part.ref: part for part in revision.parts.all()},
        {picture.name: picture for picture in revision.pictures.all()},
        ProbeMap.of(revision),
    )
    for check in (check for stage in stages for check in stage.checks.all()):
        check.guide = guide  # whose parts may set its stop limit
    if revision.corrected_at is not None:
        _correct(guide, revision_pk)
    return guide


def _correct(guide: Guide, revision_pk) -> None:
    """Give the checks the figures of their errata; the row itself stays as it was issued."""
    for row in FigureCorrection.objects.filter(check_row__stage__revision=revision_pk):  # the earliest first
        check = guide.by_id[row.check_row_id]
        if row.withdrawn_at is None:
            apply_figures(check, row.figures)
            check.correction = row
        else:
            check.undone = row


def apply_figures(check: Check, figures: dict[str, str]) -> None:
    """Of a check that is shared with nobody else, and never saved."""
    if check.as_issued is None:
        check.as_issued = {name: getattr(check, name) for name in FIGURE_FIELDS}
    for name in FIGURE_FIELDS:
        setattr(check, name, figures.get(name, ""))
    if not check.is_left_to_model:
        check.figure_from = Check.Figure.DESIGNER


@lru_cache(maxsize=16)
def _frozen(revision_pk, issued_at, corrected_at) -> Guide:
    # The moment of issue is part of the key: a database that is restored or rolled back may use a number again.
    return fetch_guide(revision_pk)
