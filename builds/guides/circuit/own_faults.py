"""Faults of a kit that its designer knows of, as the guide file writes them:

    [[fault]] key = "r8-batch" words = "R8 is 1.8 kilohm, from the bad batch" part = "R8" becomes = "1k8"        # of a
    resistor a value; of any part what can become of it: "open", "dead", "leaky", "pin 7 dry", … weight = 4
    # beside the usual faults, which have weights from 0.3 to 3 look = "Brown, grey, red instead of brown, green, red."

A fault of the usual list ("V2 dead") that is written here takes the designer's words and weight, and is not listed
twice.
"""

from dataclasses import replace

from checks.diagnosis import Fault, Move, fault_list
from checks.diagnosis.codes import FaultCode
from checks.errors import ChecksError
from checks.quantity import parse_quantity

KEYS: dict[str, type | tuple[type, ...]] = {
    "key": str,
    "words": str,
    "part": str,
    "becomes": str,
    "weight": (int, float),
    "look": str,
}
NEEDED = ("key", "words", "part", "becomes")
LONGEST = {"key": 60, "words": 300, "look": 300}


def own_faults(parts, rows) -> list[Fault]:
    """The designer's faults. Raises ChecksError naming the fault and what is wrong with it."""
    parts = list(parts)
    usual = {fault.key: fault for fault in fault_list(parts)}
    faults, seen = [], set()
    for row in rows:
        faults.append(_fault(parts, usual, row))
        if row["key"] in seen:
            raise _wrong(row["key"], "key", "fault-key-taken")
        seen.add(row["key"])
    return faults


def with_usual(parts, rows) -> tuple[Fault, ...]:
    """The usual faults of a parts list, and the designer's in place of those they stand for or after them."""
    parts = list(parts)
    own = own_faults(parts, rows)
    taken = {f"{row['part']} {_plain(row['becomes'])}" for row in rows}
    return (*(fault for fault in fault_list(parts) if fault.key not in taken), *own)


def _fault(parts, usual, row) -> Fault:
    name = row.get("key") or ""
    for key, value in row.items():
        if key not in KEYS or not isinstance(value, KEYS[key]) or isinstance(value, bool):
            raise _wrong(name, key, "fault-entry", keys=list(KEYS))
        if len(str(value)) > LONGEST.get(key, 300):
            raise _wrong(str(name)[:40], key, "fault-too-long", most=LONGEST.get(key, 300))
    missing = [key for key in NEEDED if not row.get(key)]
    if missing:
        raise _wrong(name, missing[0], "fault-entry-missing")
    part = next((part for part in parts if part.ref == row["part"]), None)
    if part is None:
        raise _wrong(name, "part", "fault-no-part", ref=row["part"])
    like = usual.get(f"{part.ref} {_plain(row['becomes'])}") or _value(part, usual, row["becomes"], name)
    own = {"key": f"own {row['key']}", "words": row["words"], "kind": "own", "weight": float(row.get("weight", 1))}
    return replace(like, **own, look=row.get("look") or "")


def _wrong(fault: str, key: str, code: str, **params) -> ChecksError:
    return ChecksError(f"fault {fault}: {code}", argument=key, code=code, fault=fault, key=key, **params)


def _plain(becomes: str) -> str:
    """ "pin 7 dry" is listed as "7 dry"."""
    return becomes.strip().removeprefix("pin ")


def _value(part, usual, becomes: str, name: str) -> Fault:
    can = [
        key.removeprefix(f"{part.ref} ")
        for key in usual
        if key.startswith(f"{part.ref} ") and " as " not in key and " and " not in key
    ]
    if part.kind != "resistor" and not can:
        raise _wrong(name, "part", "fault-undetectable", ref=part.ref)
    if part.kind != "resistor":
        raise _wrong(name, "becomes", "fault-becomes", value=becomes, ref=part.ref, known=can)
    try:
        factor = parse_quantity(becomes, "Ω").value / part.value
    except (ChecksError, TypeError) as error:
        raise _wrong(name, "becomes", "fault-resistor-becomes", value=becomes, ref=part.ref, known=can) from error
    moves = (Move(part.ref, "value", factor),)
    return Fault(part.ref, part.ref, "own", (part.ref,), 1.0, moves, code=FaultCode.OTHER_VALUE)
