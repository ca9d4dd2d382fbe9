"""What the form of a rectifier suggests: its arrangement, and only the rectifiers that the arrangement has."""

DIODE_ROLES = ("d1", "d2", "d3", "d4")


def usual_rectifiers(rows: list[dict], refs: dict[str, str]) -> dict[str, str]:
    """{role: reference} of a valve or a bridge alone, of four diodes, of two or of one. `rows` are those that fit."""
    for kind in ("rectifier valve", "bridge"):
        single = next((row["ref"] for row in rows if row["kind"] == kind), "")
        if single:
            return dict.fromkeys(DIODE_ROLES, "") | {"d1": single}
    diodes = [refs[role] for role in DIODE_ROLES if refs.get(role)]
    used = diodes if len(diodes) == 4 else diodes[:2]
    return dict(zip(DIODE_ROLES, [*used, "", "", "", ""], strict=False))


def guess_arrangement(parts: list[dict], refs: dict[str, str]) -> str:
    """The arrangement of the suggested rectifiers."""
    kinds = {row["ref"]: row["kind"] for row in parts}
    if kinds.get(refs.get("d1", "")) == "rectifier valve":
        return "valve"
    if kinds.get(refs.get("d1", "")) == "bridge" or refs.get("d4"):
        return "bridge"
    return "centre" if refs.get("d2") else "half"
