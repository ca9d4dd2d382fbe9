"""Which figures are worked out from a check."""

from collections.abc import Iterable

from builds.guides.models import Check


def figures_resting_on(check: Check) -> list[Check]:
    """The checks of the same stage that are worked out from this one."""
    result = []
    for row in check.stage.checks.all():
        if row.formula and check.key in row.formula.get("of", ()):
            result.append(row)
    return result


def with_figures(checks: Iterable[Check]) -> set[Check]:
    """These checks and all that is worked out from them, figures of figures too."""
    checks_reached, left = set(checks), list(checks)
    while left:
        new = set(figures_resting_on(left.pop())) - checks_reached
        checks_reached |= new
        left += new
    return checks_reached
