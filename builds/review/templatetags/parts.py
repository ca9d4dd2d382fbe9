"""Faults as a designer looks for them: part by part, in the parts list's own order of names."""

import re

from django import template

register = template.Library()


def natural(ref: str) -> tuple:
    """R2 before R10: letters, then the number, then the rest."""
    found = re.match(r"(\D*)(\d*)(.*)", ref)
    return found[1], int(found[2] or 0), found[3]


def short(fault) -> str:
    """A fault's words without its part's name, where they begin with it: "R2 is shorted" under R2 is "shorted"."""
    ref = fault.refs[0] if fault.refs else ""
    if ref and (swapped := re.fullmatch(rf"{re.escape(ref)} and (\S+) have changed places", fault.words)):
        return f"changed places with {swapped[1]}"
    for head in (f"{ref} is ", f"{ref}'s ", f"{ref} "):
        if ref and fault.words.startswith(head):
            return fault.words.removeprefix(head)
    return fault.words


@register.filter
def by_part(faults) -> list[tuple]:
    """[(part, [words])]: each fault under the part named first; what has no part last, under ""."""
    found: dict[str, list] = {}
    for fault in faults:
        found.setdefault(fault.refs[0] if fault.refs else "", []).append(short(fault))
    return sorted(found.items(), key=lambda row: (not row[0], natural(row[0])))


@register.filter
def refs_of(group) -> str:
    """The parts of faults that look alike: "R5, V1"."""
    return ", ".join(sorted({ref for fault in group for ref in fault.refs}, key=natural))
