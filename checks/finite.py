"""Figures are finite where they enter and where they leave: the one guard of every class that holds some, and of every
function that takes some."""

import math
from collections.abc import Callable
from dataclasses import fields
from functools import wraps
from inspect import signature
from numbers import Real
from typing import ParamSpec, TypeVar

from checks.errors import CallerError, ChecksError

Held = TypeVar("Held")
P = ParamSpec("P")
R = TypeVar("R")
NOT_BELOW_ZERO = frozenset(
    ("u", "var", "ohms", "minus", "plus", "spread", "sd", "seconds", "probability", "p", "rank_p", "share", "hertz")
)


def refuse_unreal(
    owner: object, *names: str, least: float = -math.inf, above: float = -math.inf, finite: bool = True
) -> None:
    """Raises ChecksError for a figure of `owner` that is no finite number, below `least`, or not above `above`. None
    is no figure. Not `finite`: a doubt may be without end, as that of a tone that is not there."""
    for name in names:
        value = getattr(owner, name)
        if value is None:
            continue
        if not isinstance(value, Real) or math.isnan(value) or (finite and math.isinf(value)):
            raise ChecksError(f"{name.replace('_', ' ')} is a finite number.", argument=name, code="unreal")
        if value < least or value <= above:
            raise ChecksError(f"{name.replace('_', ' ')} is too small.", argument=name, code="unreal")


def finite_figures(cls: type[Held]) -> type[Held]:
    """A dataclass none of whose figures may be NaN or endless; those named as uncertainties, shares of a whole or
    resistances are not below zero either. Above `@dataclass`, for classes without further rules of their own."""
    names = tuple(field.name for field in fields(cls) if field.type in (float, float | None))  # type: ignore[arg-type]
    signless = tuple(name for name in names if name in NOT_BELOW_ZERO)
    made = cls.__init__

    def init(self, *args, **kwargs):
        made(self, *args, **kwargs)
        refuse_unreal(self, *names)
        refuse_unreal(self, *signless, least=0.0)

    cls.__init__ = init  # type: ignore[method-assign]
    cls.guarded_figures = names  # type: ignore[attr-defined]
    return cls


def finite_arguments(function: Callable[P, R]) -> Callable[P, R]:
    """A function none of whose figures, alone or in a list, may be NaN or endless. Raises CallerError."""
    return _guarded(function, math.isfinite)


def real_arguments(function: Callable[P, R]) -> Callable[P, R]:
    """The same where a figure may be without end, as decibels of nothing are."""
    return _guarded(function, lambda value: not math.isnan(value))


def _guarded(function: Callable[P, R], is_fine: Callable[[float], bool]) -> Callable[P, R]:
    parameters = signature(function).parameters.values()
    places = {p.name: place for place, p in enumerate(parameters) if "float" in str(p.annotation)}
    if not places:
        raise CallerError(f"{function.__name__} takes no figure.", argument="function")

    @wraps(function)
    def guarded(*args: P.args, **kwargs: P.kwargs) -> R:
        for name, place in places.items():
            value = args[place] if place < len(args) else kwargs.get(name)
            for one in value if isinstance(value, (list, tuple)) else (value,):
                if isinstance(one, Real) and not is_fine(one):  # type: ignore[arg-type]
                    raise CallerError(f"{name.replace('_', ' ')} is a finite number.", argument=name)
        return function(*args, **kwargs)

    guarded.guarded_figures = tuple(places)  # type: ignore[attr-defined]
    return guarded
