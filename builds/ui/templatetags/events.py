"""The record of who did what, in templates."""

from django import template

from builds.ui.messages import events

register = template.Library()


@register.filter
def event_text(event) -> str:
    return events.event_text(event.action, event.params)
