"""Figures are finite where they enter and where they leave: the one guard of every class that holds some."""

import math
from numbers import Real

from checks.errors import ChecksError


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
