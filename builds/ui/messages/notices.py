"""What people are notified of: one sentence each, in the language of whoever reads it."""

from django.utils.translation import gettext as _


def stopped(serial: str, reading: str, check: str) -> str:
    return _("Switch off: build %(serial)s read %(reading)s at “%(check)s”.") % {
        "serial": serial,
        "reading": reading,
        "check": check,
    }


def snag_reported(serial: str, stage: str, severity: str, text: str) -> str:
    return _("Snag on build %(serial)s, %(stage)s (%(severity)s): %(text)s") % {
        "serial": serial,
        "stage": stage,
        "severity": severity,
        "text": text,
    }


def snag_message(serial: str, stage: str, text: str) -> str:
    return _("New message from build %(serial)s about its snag in %(stage)s: %(text)s") % {
        "serial": serial,
        "stage": stage,
        "text": text,
    }


def snag_answered(stage: str, text: str) -> str:
    return _("Answer to your snag in %(stage)s: %(text)s") % {"stage": stage, "text": text}


def signed_off(serial: str, letter: str) -> str:
    return _("Build %(serial)s of revision %(letter)s is signed off.") % {"serial": serial, "letter": letter}


def stage_closed(stage: str, reason: str) -> str:
    return _("The stage “%(stage)s” is closed for now: %(reason)s") % {"stage": stage, "reason": reason}


def guide_corrected(stage: str, text: str) -> str:
    return _("The guide was corrected in %(stage)s: %(text)s") % {"stage": stage, "text": text}


def finished_stop(serial: str, shown: str, check: str) -> str:
    return _(
        "Switch off and unplug build %(serial)s, and do not use it. The guide’s figures were corrected: its reading of "
        "“%(check)s”, %(shown)s, is past the stop limit. Ask the designer."
    ) % {"serial": serial, "shown": shown, "check": check}


def finished_out(serial: str, shown: str, check: str) -> str:
    return _(
        "Do not use build %(serial)s until its designer has answered. The guide’s figures were corrected: its reading "
        "of “%(check)s”, %(shown)s, is out of the corrected band."
    ) % {"serial": serial, "shown": shown, "check": check}


def figures_set_back(stage: str, check: str) -> str:
    return _(
        "The corrected figures of “%(check)s” in %(stage)s were withdrawn: the previous figures "
        "apply again. Read the check again."
    ) % {"stage": stage, "check": check}


def move_offered(serial: str, letter: str) -> str:
    return _("You can move build %(serial)s to revision %(letter)s of its guide.") % {
        "serial": serial,
        "letter": letter,
    }
