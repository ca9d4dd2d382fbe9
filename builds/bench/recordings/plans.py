"""The test signals that a stage asks for, each with the checks that it answers."""

from dataclasses import asdict, dataclass

from builds.guides.guide_file.figure_sources import read_request
from builds.guides.models import Check, Stage
from checks.tone.requests import FigureRequest
from checks.tone.sources import Signal, SignalPlan


@dataclass(frozen=True)
class Wanted:
    """One signal of a stage: its number within it, and the checks with what they ask."""

    number: int
    plan: SignalPlan
    checks: tuple[tuple[Check, FigureRequest], ...]

    @property
    def needs_volts(self) -> bool:
        return any(request.needs_volts for _check, request in self.checks)

    @property
    def is_calibrating(self) -> bool:
        """Is this the tone by which the others are read in volts?"""
        return self.plan.signal is Signal.TONE

    @property
    def is_silent(self) -> bool:
        return self.plan.signal is Signal.SILENCE

    @property
    def is_sweep(self) -> bool:
        return self.plan.signal is Signal.SWEEP

    @property
    def channels(self) -> int:
        return 2 if any(request.channel == "right" for _check, request in self.checks) else 1

    @property
    def load(self):
        return next((request.load for _check, request in self.checks if request.load), None)


def list_wanted_signals(stage: Stage) -> list[Wanted]:
    """The signals in the order in which the stage's checks first ask for them; tones, which calibrate, first, and
    silence, whose hum is judged by what a sweep says of the card, last."""
    by_plan: dict[SignalPlan, list] = {}
    for check in stage.checks.all():
        if request := read_request(check):
            by_plan.setdefault(request.plan, []).append((check, request))
    plans = sorted(by_plan, key=find_turn)
    return [Wanted(number, plan, tuple(by_plan[plan])) for number, plan in enumerate(plans, 1)]


def find_turn(plan: SignalPlan) -> int:
    """In which turn a signal is recorded and measured."""
    return {Signal.TONE: 0, Signal.SILENCE: 2}.get(plan.signal, 1)


def as_table(plan: SignalPlan) -> dict:
    """A plan as a row keeps it."""
    return asdict(plan) | {"signal": str(plan.signal), "hertz": list(plan.hertz), "levels": list(plan.levels)}


def plan_from(table: dict) -> SignalPlan:
    """The inverse of as_table."""
    return SignalPlan(
        Signal(table["signal"]),
        table["rate"],
        tuple(table["hertz"]),
        table["seconds"],
        tuple(table["levels"]),
    )
