"""{% glossed text %}: a text of the page with the first of each word of the glossary linked."""

from django import template
from django.utils.html import conditional_escape
from django.utils.safestring import mark_safe

from builds.ui.glossing import gloss

register = template.Library()


@register.simple_tag(takes_context=True)
def glossed(context, text):
    """What was linked already is remembered for the whole page, on its request."""
    request = context.get("request")
    seen = set() if request is None else request.__dict__.setdefault("glossed_words", set())
    # Escaped before, and only links of our own are added.
    return mark_safe(gloss(str(conditional_escape(text)), seen))  # noqa: S308
