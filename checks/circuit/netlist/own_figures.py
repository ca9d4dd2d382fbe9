"""The tables of numbers that a part may bring itself: its limits, and the figures of its model."""

DROPPING = ("diode", "rectifier valve", "neon")  # the figures of their models are volts, amps and perveances
MAY_BE_NOUGHT = ("_picofarads", "_microamps", "heater_centre")  # no ratings: what leaks or couples, and a yes or no


def own_figures(mapping: dict, key: str, wrong) -> dict:
    """The table `key`, "limits" or "model", of one part. `wrong(key, why, code, **params)` makes the error to raise."""
    table = mapping.get(key) or {}
    for name, value in table.items():
        if name == "system":
            continue
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise wrong(f"{key}.{name}", f"is “{value}”; it must be a number.", "not-a-number", typed=str(value))
        if value < 0 and key == "limits" and name.endswith(MAY_BE_NOUGHT):
            typed = f"{value:g}"
            raise wrong(f"{key}.{name}", f"is {typed}; it must be zero or more.", "below-zero", typed=typed)
        if value <= 0 and (_is_limit(key, name) or key == "model" and mapping["kind"] in DROPPING):
            typed = f"{value:g}"
            raise wrong(f"{key}.{name}", f"is {typed}; it must be above zero.", "not-above-zero", typed=typed)
    return dict(table)


def _is_limit(key: str, name: str) -> bool:
    """Is this a rating, which nothing could keep to if it were nought or below?"""
    return key == "limits" and not name.endswith(MAY_BE_NOUGHT)
