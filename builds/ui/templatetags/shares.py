"""Filters for shares of builds and for minutes."""

from django import template
from django.utils.translation import gettext as _

from builds.ui.shares import format_yield

register = template.Library()


@register.filter
def yield_of(share):
    """A share with its interval: "9 of 12 (likely 47 to 91 %)"; a dash where nothing was counted."""
    return format_yield(share)


@register.filter
def minutes(number):
    """Whole minutes: "35 min"; a dash where none are known."""
    return _("%(minutes).0f min") % {"minutes": number} if number else "–"
