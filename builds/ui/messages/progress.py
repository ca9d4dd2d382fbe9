"""What a background job is doing."""

from django.utils.translation import gettext as _

_SENTENCES = {
    "circuit": lambda: _("Solving the circuit"),
    "stage": lambda: _("Computing stage %(number)s of %(count)s"),
    "stress": lambda: _("Computing component stress"),
    "faults": lambda: _("Preparing the list of faults"),
    "condition": lambda: _("Computing the faults, part %(number)s of %(count)s"),
    "builds": lambda: _("Reading the builds"),
    "file": lambda: _("Writing %(name)s"),
    "sheet": lambda: _("Writing the sheet for “%(stage)s”"),
    "photos": lambda: _("Adding the photos of build %(serial)s"),
}


def progress_sentence(step: dict) -> str:
    """Of a job's step {"code", parameters}; empty where it has not said what it is doing."""
    make = _SENTENCES.get(step.get("code", ""))
    return make() % step if make else ""


_STEPS = {
    "stage": lambda number: _("stage %(number)s") % {"number": number},
    "stress": lambda _number: _("component stress"),
    "rest": lambda _number: _("frequency responses and inrush"),
}


def slowest_sentence(rows: list) -> str:
    """Of [step, number, seconds], the slowest first, of figures that took long; empty without any."""
    if not rows:
        return ""
    step, number, seconds = rows[0]
    what = _STEPS[step](number) if step in _STEPS else _("reading the parts list")
    total = sum(row[2] for row in rows)
    return _("Computing these figures took %(total).0f s. Slowest: %(what)s, %(seconds).0f s.") % {
        "total": total,
        "what": what,
        "seconds": seconds,
    }
