"""Figures are finite where they enter and where they leave: the one guard of every class that holds some."""

import math
from dataclasses import fields
from numbers import Real
from typing import TypeVar

from checks.errors import ChecksError

Held = TypeVar("Held")
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
