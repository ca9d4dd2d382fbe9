"""Parameters of a test that are slow, beside those that are not."""

import pytest


def slow(*parameters) -> list:
    """Simulations and walks that CI runs and `pytest` alone leaves out, each marked `slow`; a tuple is several
    arguments."""
    return [pytest.param(*(p if isinstance(p, tuple) else (p,)), marks=pytest.mark.slow) for p in parameters]
