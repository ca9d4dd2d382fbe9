"""The circuit model's codes as words in templates."""

from django import template

from builds.ui.messages.circuit import circumstance_label

register = template.Library()
register.filter("circumstance", circumstance_label)
