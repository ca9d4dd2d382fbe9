"""What is said about entering a filled worksheet."""

from django.utils.translation import gettext as _

from builds.ui.moments import format_moment


def too_early(newest) -> str:
    return _(
        "The newest entry of this build is from %(moment)s. Enter sheets in the order in which they were "
        "measured: every time on this one must be later than that."
    ) % {"moment": format_moment(newest)}


def held(reason: str, time: str) -> str:
    """Why a sheet was not taken to its end, and from which time on."""
    sentences = {
        "stop": _(
            "A reading was past its stop limit. The lines from %(time)s on are not saved: log a made-safe "
            "reading first."
        ),
        "shut": _("This stage was not open. The lines from %(time)s on are not saved."),
        "lock": _(
            "A step or a check of the guide comes first. The lines from %(time)s on are not saved. Fill in what comes "
            "first, with its time."
        ),
        "before": _("This sheet was sent before. The lines from %(time)s on are not saved."),
    }
    return sentences[reason] % {"time": time}
