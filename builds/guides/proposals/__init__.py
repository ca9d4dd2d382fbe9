"""Checks proposed from the circuit: where to measure, what to expect, and when to switch off."""
