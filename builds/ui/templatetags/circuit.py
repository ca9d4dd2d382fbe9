"""The circuit model's codes as words in templates."""

from django import template

from builds.ui.messages.circuit import circumstance_label
from builds.ui.messages.stress import scatter_label, stress_label

register = template.Library()
register.filter("circumstance", circumstance_label)
register.filter("scatter_label", scatter_label)
register.filter("stress_label", stress_label)
