"""Who is told of what happens at a bench. Builders' own words go to designers only; to builders goes what concerns
their own build."""

from django.urls import reverse
from django.utils.functional import lazy

from builds.bench.models import Build, Message, Reading, Snag
from builds.notifications.notify import notify
from builds.ui.messages import notices as texts

URGENT = (Snag.Severity.DANGER, Snag.Severity.STOPPED)


def _lazy(sentence, *params):
    """A sentence that is made when it is read, in the language of whoever reads it."""
    return lazy(sentence, str)(*params)


def _snag_reported(serial, stage, snag) -> str:
    return texts.snag_reported(serial, stage, snag.get_severity_display(), snag.words)


def _guide_corrected(erratum) -> str:
    return texts.guide_corrected(erratum.stage.title, erratum.told)


def _designers(build: Build):
    return build.revision.kit.designers.all()


def notify_of_stop(reading: Reading) -> None:
    """A reading past its stop limit."""
    build, check = reading.build, reading.check_row
    notify(
        _designers(build),
        f"stop {reading.pk}",
        _lazy(texts.stopped, build.serial, reading.shown, check.title),
        reverse("review:deviation", args=[build.pk, check.pk]),
        urgent=True,
    )


def notify_of_snag(snag: Snag) -> None:
    text = _lazy(_snag_reported, snag.build.serial, snag.stage.title, snag)
    notify(
        _designers(snag.build),
        f"snag {snag.pk}",
        text,
        reverse("review:snag", args=[snag.pk]),
        urgent=snag.severity in URGENT,
    )


def notify_of_message(message: Message) -> None:
    """The builder went on in a snag's thread."""
    snag = message.snag
    text = _lazy(texts.snag_message, snag.build.serial, snag.stage.title, message.words)
    notify(
        _designers(snag.build),
        f"message {message.pk}",
        text,
        reverse("review:snag", args=[snag.pk]),
        urgent=snag.severity in URGENT and snag.state != Snag.State.CLOSED,
    )


def notify_of_answer(snag: Snag, message: Message) -> None:
    """The designer's answer goes to the builder of the snag and to those whose snags were merged into it."""
    for one in (snag, *snag.merged.select_related("build__builder", "stage")):
        notify(
            [one.build.builder],
            f"answer {message.pk} {one.pk}",
            _lazy(texts.snag_answered, one.stage.title, message.words),
            reverse("bench:snag", args=[one.build_id, one.pk]),
            urgent=True,
        )


def notify_of_sign_off(build: Build) -> None:
    notify(
        _designers(build),
        f"finished {build.pk}",
        _lazy(texts.signed_off, build.serial, build.revision.letter),
        reverse("review:build", args=[build.pk]),
    )


def notify_of_halt(halt) -> None:
    """Everybody who may come to the stage."""
    for build in _under_way(halt.stage.revision_id):
        notify(
            [build.builder],
            f"halt {halt.pk} {build.pk}",
            _lazy(texts.stage_closed, halt.stage.title, halt.reason),
            reverse("bench:build", args=[build.pk]),
            urgent=True,
        )


def notify_of_erratum(erratum) -> None:
    for build in _under_way(erratum.revision_id):
        notify(
            [build.builder],
            f"erratum {erratum.pk} {build.pk}",
            _lazy(_guide_corrected, erratum),
            reverse("bench:build", args=[build.pk]),
            urgent=True,
        )


def notify_of_finished_reading(erratum, reading: Reading, is_stop: bool) -> None:
    """A reading of a build that is signed off is past the stop limit, or out of the band, as an erratum corrects it."""
    build, check = reading.build, erratum.check_row
    text = _lazy(texts.finished_stop if is_stop else texts.finished_out, build.serial, reading.shown, check.title)
    key = f"finished {'stop' if is_stop else 'out'} {erratum.pk} {erratum.withdrawn_at is None} {build.pk}"
    notify(_designers(build), key, text, reverse("review:build", args=[build.pk]), urgent=True)
    if build.builder:
        notify([build.builder], key, text, reverse("bench:build", args=[build.pk]), urgent=True)


def notify_of_figures_set_back(erratum) -> None:
    """An erratum that corrected figures was withdrawn: what was read by them is read again."""
    for build in _under_way(erratum.revision_id):
        notify(
            [build.builder],
            f"figures set back {erratum.pk} {build.pk}",
            _lazy(texts.figures_set_back, erratum.stage.title, erratum.check_row.title),
            reverse("bench:build", args=[build.pk]),
            urgent=True,
        )


def notify_of_offer(offer) -> None:
    text = _lazy(texts.move_offered, offer.build.serial, offer.revision.letter)
    notify([offer.build.builder], f"offer {offer.pk}", text, reverse("bench:move", args=[offer.build_id]))


def _under_way(revision_pk):
    going = Build.objects.filter(revision=revision_pk, finished_at=None, given_up_at=None)
    return going.exclude(builder=None).select_related("builder")
