"""Photos of all builds, step by step: what the designer holds against the guide's example."""

from dataclasses import dataclass, field

from builds.bench.models import Photo
from builds.guides.guide_cache import load_guide
from builds.guides.models import Picture, Revision, Stage, Step
from checks.serials import natural


@dataclass
class StepPhotos:
    """A step with every build's photos of it."""

    stage: Stage
    step: Step
    number: int
    example: Picture | None
    photos: list[Photo] = field(default_factory=list)


def photo_steps(revision: Revision, stage_key: str = "") -> list[StepPhotos]:
    """The steps that ask for a photo or have one, in the guide's order; photos by serial number. One query beside the
    guide."""
    guide = load_guide(revision)
    rows = Photo.objects.filter(build__revision=revision, step__isnull=False, snag=None).select_related("build")
    by_step: dict[int | None, list[Photo]] = {}
    for photo in rows:
        by_step.setdefault(photo.step_id, []).append(photo)
    entries = [
        StepPhotos(stage, step, number, guide.pictures.get(step.picture), by_step.get(step.pk, []))
        for stage in guide.stages
        if not stage_key or stage.key == stage_key
        for number, step in enumerate(stage.steps.all(), 1)
    ]
    for entry in entries:
        entry.photos.sort(key=lambda photo: (natural(photo.build.serial), photo.at))
    return [entry for entry in entries if entry.photos or entry.step.photo != Step.Photo.NONE]
