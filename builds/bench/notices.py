"""Who is told of what happens at a bench. Builders' own words go to designers only; to builders goes what concerns
their own build."""

from django.urls import reverse

from builds.bench.models import Build, Message, Reading, Snag
from builds.notifications.notify import notify

URGENT = (Snag.Severity.DANGER, Snag.Severity.STOPPED)


def _designers(build: Build):
    return build.revision.kit.designers.all()


def stopped(reading: Reading) -> None:
    """A reading past its stop limit."""
    build, check = reading.build, reading.check_row
    notify(
        _designers(build),
        f"stop {reading.pk}",
        f"Switch off: build {build.serial} read {reading.typed} at “{check.title}”.",
        reverse("review:deviation", args=[build.pk, check.pk]),
        urgent=True,
    )


def reported(snag: Snag) -> None:
    words = f"Snag ({snag.severity}), build {snag.build.serial}, {snag.stage.title}: {snag.words}"
    notify(
        _designers(snag.build),
        f"snag {snag.pk}",
        words,
        reverse("review:snag", args=[snag.pk]),
        urgent=snag.severity in URGENT,
    )


def written(message: Message) -> None:
    """The builder went on in a snag's thread."""
    snag = message.snag
    words = f"Build {snag.build.serial} on its snag in {snag.stage.title}: {message.words}"
    notify(
        _designers(snag.build),
        f"message {message.pk}",
        words,
        reverse("review:snag", args=[snag.pk]),
        urgent=snag.severity in URGENT and snag.state != Snag.State.CLOSED,
    )


def answered(snag: Snag, message: Message) -> None:
    """The designer's answer goes to the builder of the snag and to those whose snags were merged into it."""
    for one in (snag, *snag.merged.select_related("build__builder", "stage")):
        notify(
            [one.build.builder],
            f"answer {message.pk} {one.pk}",
            f"Your snag in {one.stage.title} is answered: {message.words}",
            reverse("bench:snag", args=[one.build_id, one.pk]),
            urgent=True,
        )


def finished(build: Build) -> None:
    notify(
        _designers(build),
        f"finished {build.pk}",
        f"Build {build.serial} of revision {build.revision.letter} is signed off.",
        reverse("review:build", args=[build.pk]),
    )


def halted(halt) -> None:
    """Everybody who may come to the stage."""
    for build in _under_way(halt.stage.revision_id):
        notify(
            [build.builder],
            f"halt {halt.pk} {build.pk}",
            f"“{halt.stage.title}” is shut for now: {halt.reason}",
            reverse("bench:build", args=[build.pk]),
            urgent=True,
        )


def pinned(erratum) -> None:
    for build in _under_way(erratum.revision_id):
        notify(
            [build.builder],
            f"erratum {erratum.pk} {build.pk}",
            f"The guide was corrected in {erratum.stage.title}: {erratum.words}",
            reverse("bench:build", args=[build.pk]),
            urgent=True,
        )


def offered(offer) -> None:
    words = f"Build {offer.build.serial} may move to revision {offer.revision.letter} of its guide."
    notify([offer.build.builder], f"offer {offer.pk}", words, reverse("bench:move", args=[offer.build_id]))


def _under_way(revision_pk):
    going = Build.objects.filter(revision=revision_pk, finished_at=None, given_up_at=None)
    return going.exclude(builder=None).select_related("builder")
