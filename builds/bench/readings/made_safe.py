"""Is a reading across the reservoir safe to put hands in?"""

from checks.meter import PRESETS, measure
from checks.quantity import Quantity
from checks.safety import is_safe_to_touch


def is_safe(build, quantity: Quantity) -> bool:
    """Below the touch limit whatever the builder's meter may be off by, on whichever of its ranges: a needle at 45 V is
    3 % of 1000 V off where that range was left on after a live reading."""
    meter = build.meter.as_spec() if build.meter else PRESETS["basic"]
    return is_safe_to_touch(measure(quantity, "dc volts", meter, range_=max(meter.ranges, default=None)))
