"""Readings that were taken again and came out alike: such are hardly slips."""

from itertools import groupby

from builds.bench.models import Reading

ALIKE = 0.01  # of a reading, beyond what both uncertainties allow, that a second look may differ by (a supply drifts)


def find_repeated(builds) -> set[tuple[int, int]]:
    """(build id, check id) where the last two attempts agree and neither corrects a slip. One query."""
    rows = (
        Reading.objects.filter(build__in=builds)
        .order_by("build_id", "check_row_id", "-attempt")
        .values_list("build_id", "check_row_id", "at_reference", "u", "over_range", "is_slip")
    )
    repeats = set()
    for key, group in groupby(rows.iterator(chunk_size=2000), key=lambda row: row[:2]):
        last_two = [row[2:] for row, _n in zip(group, range(2), strict=False)]
        if len(last_two) == 2 and not last_two[0][3] and _agree(*last_two):
            repeats.add(key)
    return repeats


def _agree(one, other) -> bool:
    (a, ua, a_over, _slip), (b, ub, b_over, _other) = one, other
    if a_over or b_over or a is None or b is None:
        return a_over and b_over
    return abs(a - b) <= 2 * (ua**2 + ub**2) ** 0.5 + ALIKE * abs(a)
