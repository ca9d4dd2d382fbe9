"""Filters that look into a guide: probe points as its pages word them, and edits as a person reads them."""

from django import template

from builds.guides import edit_display
from builds.guides.guide_cache import load_guide
from builds.guides.points_map import places
from builds.ui.templatetags.formatting import scale

register = template.Library()


@register.filter
def red_label(snag):
    """Where a snag's check has the red probe, in the words of the check's own page."""
    return load_guide(snag.build.revision).probes.probe(snag.check_row.red).location


@register.filter
def black_label(snag):
    return load_guide(snag.build.revision).probes.probe(snag.check_row.black).location


@register.filter
def seen_version(picture, points):
    """The version of a picture with its points as a page shows it, sent along when it is deleted."""
    return places.seen_version(picture, points)


@register.filter
def edit_lines(edits):
    """Edits as stored with a decision -> as a person reads them."""
    return edit_display.edit_lines(edits)


@register.inclusion_tag("drawings/_scale.html")
def band_scale(band, unit):
    """The picture of a band without a reading."""
    limits = {name: getattr(band, name) for name in ("low", "high", "expected", "stop_above", "stop_below")}
    return scale(**limits, unit=unit)
