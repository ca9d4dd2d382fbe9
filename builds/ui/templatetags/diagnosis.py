"""Codes of the diagnosis as sentences, for templates."""

from django import template

from builds.ui.messages import advice, faults, left_out, places

register = template.Library()
register.filter("fault_sentence", faults.fault_sentence)
register.filter("where_to_look", faults.where_to_look)
register.filter("left_out_sentences", left_out.left_out_sentences)
register.filter("likelihood_label", advice.likelihood_label)
register.filter("mistake_sentence", advice.mistake_sentence)
register.filter("place_label", places.place_label)
register.filter("pointer_range", advice.pointer_range)
register.filter("pointer_meaning", advice.pointer_meaning)
