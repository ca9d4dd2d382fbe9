"""The sound card by itself: its output recorded by its own input, so that its share of a figure is known."""

from builds.bench.models import Recording
from builds.bench.recordings.plans import Wanted
from builds.bench.recordings.results import against_card
from checks.tone.passage import UNKNOWN, Passage
from checks.tone.requests import USUAL_HERTZ
from checks.tone.sources import Signal, SignalPlan

SIGNALS = (Signal.TONE, Signal.SILENCE, Signal.SWEEP)  # whose figures a card has a share in
SWEEP = SignalPlan(
    Signal.SWEEP, hertz=USUAL_HERTZ[Signal.SWEEP], seconds=4.0
)  # where a stage asks for hum, but for no response


def loopback_signals(signals: list[Wanted]) -> list[Wanted]:
    """Those of a stage's signals that the card is recorded with, and a sweep: what a card takes from low frequencies,
    it takes from hum."""
    own = [one for one in signals if one.plan.signal in SIGNALS]
    kinds = {one.plan.signal for one in own}
    if Signal.SILENCE in kinds and Signal.SWEEP not in kinds:
        own.append(Wanted(len(signals) + 1, SWEEP, ()))
    return own


def list_loopbacks(build) -> dict[str, Recording]:
    """The builder's latest usable loop-back of each kind of signal, on whichever of their builds it was made."""
    rows = Recording.objects.filter(
        build__builder=build.builder_id, stage=None, state=Recording.State.ANALYSED
    ).select_related("build")
    latest: dict[str, Recording] = {}
    for row in rows:  # the newest first
        if row.results and row.results[0]["is_usable"]:
            latest.setdefault(row.plan["signal"], row)
    return latest


def with_card(recording: Recording) -> tuple[list[dict], bool]:
    """The tables of a recording, each with what the card takes from it, and whether the card's share is known."""
    tables = recording.results
    if recording.is_loopback or recording.plan["signal"] not in SIGNALS or not recording.build.builder_id:
        return tables, True
    card = list_loopbacks(recording.build).get(recording.plan["signal"])
    if card is None or card.plan["hertz"] != recording.plan["hertz"]:
        return tables, False
    shares = [card.results[min(n, len(card.results) - 1)] for n in range(len(tables))]
    return [t | against_card(t, share, recording.scale) for t, share in zip(tables, shares, strict=True)], True


def harmonics_of_card(recording: Recording) -> dict[int, float]:
    """The card's own harmonics of the same tone, as shares of it by order; none where they are not known."""
    card = list_loopbacks(recording.build).get(str(Signal.TONE)) if recording.build.builder_id else None
    if card is None or card.plan["hertz"] != recording.plan["hertz"]:
        return {}
    return {one["order"]: 10 ** (one["level"] / 20) for one in card.results[0]["tone"]["harmonics"] if one["is_seen"]}


def find_passage(recording: Recording) -> Passage:
    """What the card lets through, by its own sweep; else, at worst, by the build's latest sweep through it."""
    if recording.build.builder_id and (card := list_loopbacks(recording.build).get(str(Signal.SWEEP))):
        return _passage(card.results[0], is_card=True)
    rows = Recording.objects.filter(build=recording.build_id, state=Recording.State.ANALYSED, at__lte=recording.at)
    for row in rows.filter(stage__isnull=False, plan__signal=str(Signal.SWEEP)):
        if row.results and row.results[0]["is_usable"] and "response" in row.results[0]:
            return _passage(row.results[0], is_card=False)
    return UNKNOWN


def _passage(table: dict, *, is_card: bool) -> Passage:
    response = table["response"]
    return Passage(tuple(response["hertz"]), tuple(response["levels"]), is_card)
