"""Injected faults: the bench that saves, and what is made to fail."""
