"""Filters for dates and times. They hand back what is no date."""

from django import template

from builds.ui.moments import format_day, format_moment

register = template.Library()


@register.filter
def moment(at):
    """A date and time with its time zone: "26 Nov, 14:03 CET"."""
    return format_moment(at) if hasattr(at, "hour") else at


@register.filter
def full_moment(at):
    """As `moment`, with the year."""
    return format_moment(at, year=True) if hasattr(at, "hour") else at


@register.filter
def day(at):
    """A day with its year: "26 Nov 2026"."""
    return format_day(at) if hasattr(at, "year") else at
