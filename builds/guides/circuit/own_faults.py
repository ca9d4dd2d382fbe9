"""Faults of a kit that its designer knows of, as the guide file writes them:

    [[fault]]
    key = "r8-batch"
    words = "R8 is 1.8 kilohm, from the bad batch"
    part = "R8"
    becomes = "1k8"        # a value, "open" or "short"
    weight = 4             # beside the usual faults, which have weights from 0.3 to 3
    look = "Brown, grey, red instead of brown, green, red."
"""
from checks.errors import ChecksError
from checks.faults import Fault, Move
from checks.faults.fault import SHORT, opened
from checks.quantity import parse_quantity

KEYS = {"key": str, "words": str, "part": str, "becomes": str, "weight": (int, float), "look": str}
NEEDED = ("key", "words", "part", "becomes")


def own_faults(parts, rows) -> list[Fault]:
    """The designer's faults. Raises ChecksError naming the fault and what is wrong with it."""
    by_ref = {part.ref: part for part in parts}
    return [_fault(by_ref, row) for row in rows]


def _fault(by_ref, row) -> Fault:
    name = row.get("key") or "without a key"
    for key, value in row.items():
        if key not in KEYS or not isinstance(value, KEYS[key]) or isinstance(value, bool):
            raise ChecksError(f"Fault {name}: {key} is not taken here, or not so; a fault has {', '.join(KEYS)}.", argument=key)
    missing = [key for key in NEEDED if not row.get(key)]
    if missing:
        raise ChecksError(f"Fault {name}: {missing[0]} is missing.", argument=missing[0])
    part = by_ref.get(row["part"])
    if part is None or part.kind != "resistor":
        raise ChecksError(f"Fault {name}: part {row['part']} is not a resistor of this kit.", argument="part")
    return Fault(f"own {row['key']}", row["words"], "own", (part.ref,), float(row.get("weight", 1)),
                 (Move(part.ref, "value", _factor(part, row["becomes"], name)),), look=row.get("look", ""))


def _factor(part, becomes: str, name: str) -> float:
    if becomes in ("open", "short"):
        return opened(part.value) if becomes == "open" else SHORT
    try:
        return parse_quantity(becomes, "Ω").value / part.value
    except (ChecksError, TypeError) as error:
        raise ChecksError(f"Fault {name}: becomes is “{becomes}”; it takes open, short or a value such as 1k8.",
                          argument="becomes") from error
