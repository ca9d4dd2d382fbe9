"""What may be printed on a part instead of its value: the codes of IEC 60062, and microfarads without their unit."""

from checks.codes import capacitor_letter_code, three_digit_code
from checks.errors import ChecksError
from checks.quantity import parse_quantity

PRINTED_MICROFARADS = (1e-9, 1e-5)  # from and below which film capacitors are marked so (common practice)


def printed_codes(part) -> tuple[str, ...]:
    """The codes that a part with `kind` and `value` may bear, but for the value as the guide writes it: of a capacitor
    without polarity ("104", "100n", "0.1"). Electrolytics bear their value in full, resistors their colours."""
    if part.kind != "capacitor" or not part.value:
        return ()
    try:
        farads = parse_quantity(part.value, "F").number
        codes = [*_three_digits(farads), capacitor_letter_code(farads)]
    except ChecksError:
        return ()
    low, high = PRINTED_MICROFARADS
    if low <= farads < high:
        codes.append(f"{farads * 1e6:.4g}")
    return tuple(code for code in dict.fromkeys(codes) if code != part.value.replace(" ", "").removesuffix("F"))


def _three_digits(farads: float) -> list[str]:
    try:
        return [three_digit_code(farads)]
    except ChecksError:
        return []
