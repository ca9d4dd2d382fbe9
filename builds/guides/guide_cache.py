"""An issued guide never changes, so its rows are fetched once a process and shared."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

from builds.guides.models import Part, Picture, Revision, Stage
from builds.guides.probes import ProbeMap


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
    def powered(self) -> frozenset[int]:
        """Ids of the checks that are read with the power on."""
        return frozenset(check.pk for stage in self.stages if stage.is_powered for check in stage.checks.all())


def load_guide(revision: Revision) -> Guide:
    """The guide of a revision: five queries for a draft, none for an issued one this process has met."""
    if revision.state == Revision.State.DRAFT:
        return _fetch(revision.pk)
    return _frozen(revision.pk, revision.issued_at)


def _fetch(revision_pk) -> Guide:
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
    return guide


@lru_cache(maxsize=16)
def _frozen(revision_pk, issued_at) -> Guide:
    # The moment of issue is part of the key: a database that is restored or rolled back may use a number again.
    return _fetch(revision_pk)
