"""The guide's figures as typed, turned into bands and points that can be judged."""
from functools import lru_cache

from builds.guides.models import Check
from checks.band import Band, parse_band
from checks.quantity import parse_quantity


def band_for(check: Check) -> Band | None:
    """The check's band at the guide's mains voltage; None when only the model could say and it has not.

    Raises ChecksError when the figures contradict each other (the editor and import refuse those).
    """
    expected = "" if check.expected.strip().lower() == "model" else check.expected
    figures = {name: getattr(check, name) for name in
               ("band", "low", "high", "at_least", "at_most", "stop_above", "stop_below")}
    if not expected and not any(figures[k] for k in ("low", "high", "at_least", "at_most")):
        return None
    if not expected:
        figures["band"] = ""
    return _band(check.unit, expected, tuple(sorted(figures.items())))


@lru_cache(maxsize=4096)
def _band(unit, expected, figures) -> Band:
    return parse_band(unit=unit, expected=expected, **dict(figures))


def source_ohms(check: Check) -> float | None:
    return parse_quantity(check.source_resistance, "Ω").value if check.source_resistance else None


def expected_words(check: Check) -> str:
    """Where the figure comes from, as the page says it."""
    if check.expected.strip().lower() == "model":
        return "from the circuit model"
    return {"prototype": "read on the prototype", "model": "from the circuit model"}.get(
        check.figure_from, "the designer's figure")
