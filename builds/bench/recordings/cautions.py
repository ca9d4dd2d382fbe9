"""What to mind while a recording is made, in short: beside every step of it, on the page and on paper."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from builds.bench.recordings.plans import list_wanted_signals
from builds.bench.recordings.set_up import SetUp, plan_set_up
from builds.guides.models import Stage
from builds.ui.formatting import format_figure


def caution_on_paper(stages: Iterable[Stage]) -> dict[int, tuple[str, str]]:
    """Stage id -> (title, words), for the stages that ask for recordings."""
    cautions = {}
    for stage in stages:
        if signals := list_wanted_signals(stage):
            set_up = plan_set_up(stage.revision, signals)
            cautions[stage.pk] = (_("Recordings"), " ".join(cautions_beside(set_up)))
    return cautions


def note_on_paper(check) -> str:
    """Beside one recorded check of a printed guide."""
    if not check.recording:
        return ""
    return _("Recorded with a sound card: follow the recording cautions of this stage.")


def cautions_beside(set_up: SetUp) -> list[str]:
    """Imperatives, the load's first."""
    cautions = [_("Switch off and unplug before you connect or move anything.")]
    if set_up.load:
        cautions += [
            _("Never run it without a load: %(ohms)s, %(watts)s or more, measured with the power off.")
            % {"ohms": format_figure(set_up.load, "Ω"), "watts": format_figure(set_up.watts, "W", 2)},
            _(
                "Connect the sound card only across the divider’s %(lower)s. %(upper)s is in series with it "
                "across the load."
            )
            % {"upper": format_figure(set_up.upper, "Ω"), "lower": format_figure(set_up.lower, "Ω")},
        ]
    return [
        *cautions,
        _("Never connect it to a live part, nor to any point inside the kit."),
        _(
            "If neither output terminal is at chassis potential, use an isolating audio transformer. Never lift the "
            "mains earth to stop an earth loop."
        ),
    ]
