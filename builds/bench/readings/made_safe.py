"""Is a reading across the reservoir safe to put hands in?"""

from checks.meter import PRESETS, measure
from checks.quantity import Quantity
from checks.safety import is_safe_to_touch


def is_safe(build, quantity: Quantity) -> bool:
    """Below the touch limit whatever the builder's meter may be off by."""
    meter = build.meter.as_spec() if build.meter else PRESETS["basic"]
    return is_safe_to_touch(measure(quantity, "dc volts", meter))
