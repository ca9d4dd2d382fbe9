"""Withdrawing a photo: its files go, its row stays."""

from django.db import transaction
from django.utils import timezone

from builds.bench.gates import gating
from builds.bench.gates.facts import load_facts
from builds.bench.models import Photo, StageVisit
from builds.bench.photos.decoding import SIZES
from builds.bench.photos.signals import photo_withdrawn


@transaction.atomic
def withdraw(photo: Photo) -> bool:
    """Withdraw a photo; says whether its stage is open again for want of it. A second time changes nothing."""
    if not Photo.objects.filter(pk=photo.pk).update(withdrawn_at=timezone.now()):
        return False
    transaction.on_commit(lambda: _delete_files(photo))
    return _reopen(photo)


def _delete_files(photo: Photo) -> None:
    for file in [getattr(photo, size) for size in SIZES]:
        file.storage.delete(file.name)
    photo_withdrawn.send(Photo, photo=photo)


def _reopen(photo: Photo) -> bool:
    """A step that must have a photo and has none left is not done, and neither is its stage."""
    if photo.step is None or not photo.step.photo_wanted:
        return False
    stage = next(stage for stage in gating.guide_stages(photo.build) if stage.pk == photo.stage_id)
    if gating.state_in(stage, load_facts(photo.build)).complete:
        return False
    return bool(StageVisit.objects.filter(build=photo.build, stage=stage).exclude(done_at=None).update(done_at=None))
