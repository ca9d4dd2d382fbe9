"""What a paper of a build says first while a reading past its stop limit stands on it."""

from builds.bench.gates.gating import Power
from builds.bench.gates.stops import stop_reading
from builds.bench.models import Build
from builds.ui.messages.advice import find_the_fault


def stop_words(build: Build, power: Power) -> str:
    """The order, and the reading that gave it; empty where none stands."""
    if power.stop_check is None:
        return ""
    reading = stop_reading(build, power)
    return f"{find_the_fault(power.needs_made_safe)} {reading.check_row.title}: {reading.finding}"
