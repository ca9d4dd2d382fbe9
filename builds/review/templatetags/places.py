"""The designer's four places, in the order of the work, and the pages of each."""

from dataclasses import dataclass

from django import template
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

register = template.Library()


@dataclass(frozen=True)
class Place:
    """`pages`: (address name, title); `inner`: names of pages that belong to one of them, with that one's name."""

    key: str
    title: str | Promise
    pages: tuple[tuple[str, str | Promise], ...]
    inner: dict[str, str]
    leads_on: str | Promise  # what the link to this place says at the foot of the place before it

    def find_page(self, view: str) -> str:
        """The page of this place that a view is on or belongs to; empty where it is elsewhere."""
        names = [name for name, _title in self.pages]
        return view if view in names else self.inner.get(view, "")


PLACES = (
    Place(
        "watch",
        _("Builds"),
        (
            ("review:dashboard", _("Dashboard")),
            ("review:builds", _("Builds and invitations")),
            ("review:programme", _("Programme")),
            ("review:map", _("Map of points")),
            ("review:photos", _("Photos")),
            ("review:recordings", _("Recordings")),
            ("review:batches", _("Correlations")),
        ),
        {
            "review:check": "review:dashboard",
            "review:step-photos": "review:photos",
            "review:build": "review:builds",
            "review:charts": "review:builds",
            "review:renew": "review:builds",
            "review:offer-move": "review:builds",
        },
        _("Watch the builds"),
    ),
    Place(
        "decide",
        _("Problems"),
        (
            ("review:problems", _("All problems")),
            ("review:faults", _("Probable causes")),
            ("review:findings", _("Findings and decisions")),
        ),
        {
            "review:snag": "review:problems",
            "review:merge": "review:problems",
            "review:deviation": "review:problems",
            "review:decide-check": "review:findings",
            "review:decide-snag": "review:findings",
        },
        _("Next: decide what to do about the problems"),
    ),
    Place(
        "revise",
        _("Guide"),
        (
            ("guides:revision", _("Guide")),
            ("guides:circuit", _("Circuit figures")),
            ("guides:schematic", _("Schematic")),
            ("review:changes", _("Changes")),
            ("review:errata", _("Errata and halts")),
            ("review:coverage", _("Fault coverage")),
        ),
        {"review:halt": "review:errata", "guides:compare": "review:changes"},
        _("Next: see what changes in the guide"),
    ),
    Place(
        "release",
        _("Release"),
        (
            ("review:release", _("Release gate")),
            ("reports:summary", _("Fault summary")),
            ("reports:specification", _("Specification sheet")),
        ),
        {"reports:stage": "reports:summary", "reports:archive": "reports:summary"},
        _("Next: see how far the kit is from release"),
    ),
)


def _address(name: str, revision) -> str:
    kit = revision.kit.key
    return reverse(name, args=[kit] if name == "review:programme" else [kit, revision.letter])


def _current(context) -> tuple[Place | None, str]:
    """The place and the page that the request is on."""
    view = context["request"].resolver_match.view_name
    for place in PLACES:
        if page := place.find_page(view):
            return place, page
    return None, ""


@register.inclusion_tag("review/_places.html", takes_context=True)
def places(context):
    """Links to the four places of the revision in hand, and to the pages of the present one. The programme's page shows
    its latest revision's."""
    revision = context["revision"]
    current, page = _current(context)
    return {
        "letter": revision.letter,
        "places": [(place, _address(place.pages[0][0], revision), place == current) for place in PLACES],
        "current": current,
        "pages": [
            (title, _address(name, revision), name == page) for name, title in (current.pages if current else ())
        ],
    }


@register.inclusion_tag("review/_next_place.html", takes_context=True)
def next_place(context):
    """A link to the place that comes after the present one; none after the last."""
    current, _page = _current(context)
    number = PLACES.index(current) + 1 if current else len(PLACES)
    following = PLACES[number] if number < len(PLACES) else None
    return {
        "title": following and following.leads_on,
        "address": following and _address(following.pages[0][0], context["revision"]),
    }
