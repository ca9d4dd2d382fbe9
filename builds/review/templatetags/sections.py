"""The way from one page of a revision to the next."""

from django import template
from django.urls import reverse

register = template.Library()

PAGES = (
    ("guides:revision", "Guide"),
    ("review:dashboard", "Dashboard"),
    ("review:builds", "Builds"),
    ("review:troubles", "Troubles"),
    ("review:findings", "Findings"),
    ("review:batches", "Batches and valves"),
    ("review:errata", "Errata and halts"),
    ("review:faults", "Faults"),
    ("review:coverage", "Coverage"),
    ("review:changes", "What changed"),
    ("review:release", "Release gate"),
    ("reports:summary", "Fault summary"),
)


@register.inclusion_tag("review/_sections_list.html", takes_context=True)
def sections(context):
    """Links to all pages of the revision in hand, the present one marked. The programme's page shows its latest
    revision's."""
    revision, here = context["revision"], context["request"].resolver_match.view_name
    kit = revision.kit.key
    pages = [
        ("Programme", reverse("review:programme", args=[kit]), here == "review:programme"),
        *((words, reverse(name, args=[kit, revision.letter]), name == here) for name, words in PAGES),
    ]
    return {"pages": pages, "letter": revision.letter}
