"""Moving a build to a later revision: why it cannot be, what is done again and why, and the parts to change."""

from django.utils.translation import gettext as _


def other_kit() -> str:
    return _("A build can only move to another issued revision of its own kit.")


def earlier_revision() -> str:
    return _("A build can only move to a later revision.")


def build_ended() -> str:
    return _("This build has ended. It stays with the revision it was built from.")


def no_builder() -> str:
    return _("This build has no builder yet. Make an invitation for the new revision instead.")


def serial_taken(letter: str) -> str:
    return _("Revision %(letter)s already has a build with this serial number.") % {"letter": letter}


def stop_is_active() -> str:
    return _("A reading was past its stop limit. Find the cause and measure again before you move this build.")


def stop_unanswered() -> str:
    return _("A reading was past its stop limit, and the kit has not been made safe since.")


def valves_not_permitted(sockets: list[str]) -> str:
    return _("The new revision does not permit the valve types fitted in %(sockets)s.") % {
        "sockets": ", ".join(sockets)
    }


def had_power() -> str:
    return _("The kit has had power since it was last made safe.")


def swap_sentence(action: str, ref: str, params: dict) -> str:
    """What to do with a part that the new revision has otherwise. `params`: its kind, type, value and tolerance as
    `old` and `new`."""
    parts = {"ref": ref, "old": _part(params.get("old")), "new": _part(params.get("new"))}
    if action == "fit":
        return _("Fit %(ref)s: %(new)s.") % parts
    if action == "remove":
        return _("Remove %(ref)s (%(old)s).") % parts
    if action == "change":
        return _("Change %(ref)s from %(old)s to %(new)s.") % parts
    return _("Rewire %(ref)s as in the new revision.") % parts


def _part(part: dict | None) -> str:
    """A part as a parts list has it: "resistor 12k ±5%"."""
    part = part or {}
    tolerance = f"±{part['tolerance']}" if part.get("tolerance") else ""
    return " ".join(filter(None, (*(part.get(key, "") for key in ("kind", "type", "value")), tolerance)))


def new_in_revision() -> str:
    return _("new in this revision")


def text_changed() -> str:
    return _("the text has changed: read it and compare")


def parts_changed(refs: str) -> str:
    return _("changed parts: %(parts)s") % {"parts": refs}


def photo_now_required() -> str:
    return _("a photo is now required")


def measured_differently() -> str:
    return _("measured differently now")


def not_passed() -> str:
    return _("not passed yet")


def part_affects_it() -> str:
    return _("a changed part affects it")


def cannot_be_judged() -> str:
    return _("the new revision cannot judge it")


def outside_new_band(reading: str) -> str:
    return _("your reading of %(reading)s is outside the new band") % {"reading": reading}


def within_new_band(reading: str, letter: str) -> str:
    return _("%(reading)s under revision %(letter)s, within the new band") % {"reading": reading, "letter": letter}


def moved(letter: str) -> str:
    return _("This build now follows revision %(letter)s. What is to be done again is listed first.") % {
        "letter": letter
    }


def declined(letter: str) -> str:
    return _("Offer declined. This build stays with revision %(letter)s.") % {"letter": letter}
