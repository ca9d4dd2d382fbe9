"""Faults as a designer looks for them: part by part, in the parts list's own order of names."""

from django import template
from django.utils.translation import gettext as _

from builds.ui.messages.circuit import no_figure_sentence
from builds.ui.messages.faults import fault_sentence, fault_under_part
from checks.serials import natural

register = template.Library()


@register.filter
def by_part(faults) -> list[tuple]:
    """[(part, [words])]: each fault under the part named first; what has no part last, under ""."""
    groups: dict[str, list] = {}
    for fault in faults:
        groups.setdefault(fault.refs[0] if fault.refs else "", []).append(fault_under_part(fault))
    return sorted(groups.items(), key=lambda row: (not row[0], natural(row[0])))


@register.filter
def unsolved_by_reason(prepared) -> list[tuple]:
    """[(why there is no figure, [faults in sentences])] of a prepared dictionary, the commonest reason first."""
    faults = {fault.key: fault for fault in prepared.faults}
    groups: dict[str, list] = {}
    for one in prepared.unsolved:
        groups.setdefault(no_figure_sentence(one.why), []).append(fault_sentence(faults[one.fault]))
    return sorted(groups.items(), key=lambda row: -len(row[1]))


@register.filter
def refs_of(group) -> str:
    """The parts of faults that look alike: "R5, V1"."""
    return ", ".join(sorted({ref for fault in group for ref in fault.refs}, key=natural))


@register.filter
def titled_among(check, checks) -> str:
    """A check's title, with its stage where another of these checks has the same."""
    if sum(other.title == check.title for other in checks) < 2:
        return check.title
    return _("%(check)s (%(stage)s)") % {"check": check.title, "stage": check.stage.title}
