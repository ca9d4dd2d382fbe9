"""What a worker or a page does in many steps, in one call."""

from builds.bench.readings.context import build_context
from builds.notifications import sending
from checks.verdict import Verdict


def send_waiting() -> dict[str, int]:
    """Send here and now every letter that waits; {how it stands: how many}."""
    counts: dict[str, int] = {}
    for pk in sending.due().order_by("made_at").values_list("pk", flat=True):
        state = sending.send(pk)
        counts[state] = counts.get(state, 0) + 1
    return counts


def judge_typed(build, check, typed: str, mains_volts: float | None) -> Verdict:
    """The verdict on an entry, with nothing stored. Raises ChecksError when it cannot be read."""
    return build_context(build, check, mains_volts).judged(typed).result[2]
