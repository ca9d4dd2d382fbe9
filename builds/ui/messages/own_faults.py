"""The sentence for what is wrong with a fault that a designer wrote."""

from collections.abc import Callable

from django.utils.translation import gettext as _

MESSAGES: dict[str, Callable[[dict], str]] = {
    "fault-key-taken": lambda p: _("Another fault has this key. Choose another one."),
    "fault-entry": lambda p: (
        _("“%(key)s” is not accepted here, or is of the wrong type. A fault takes %(keys)s.")
        % {"key": p["key"], "keys": ", ".join(p["keys"])}
    ),
    "fault-too-long": lambda p: _("“%(key)s” is too long. Accepted: up to %(most)d characters.") % p,
    "fault-entry-missing": lambda p: _("“%(key)s” is missing.") % p,
    "fault-no-part": lambda p: _("%(ref)s is not in the parts list.") % p,
    "fault-undetectable": lambda p: _("No reading can detect a fault of %(ref)s.") % p,
    "fault-becomes": lambda p: (
        _("%(ref)s cannot become “%(value)s”. Accepted: %(known)s.") % (p | {"known": ", ".join(p["known"])})
    ),
    "fault-resistor-becomes": lambda p: (
        _("%(ref)s cannot become “%(value)s”. Accepted: %(known)s or a value such as 1k8.")
        % (p | {"known": ", ".join(p["known"])})
    ),
}


def own_fault_message(code: str, params: dict) -> str | None:
    """In the reader's language, with the fault's key before it; None for a code of another area."""
    make = MESSAGES.get(code)
    if make is None:
        return None
    return _("Fault %(name)s: %(message)s") % {
        "name": params["fault"] or _("without a key"),
        "message": make(params),
    }
