"""The stages that checks belong to, and those that a guide lacks for them."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from checks.circuit.netlist.terminals import VALVES

LIVE = (
    "lethal-voltage", "one-hand", "discharge", "current-limited", "insulated-probes", "not-alone", "children-pets",
    "mains-earth", "fuse",
)  # fmt: skip


@dataclass(frozen=True)
class Places:
    """Keys of the stages in which checks are proposed: without power, with power and no valves, with valves."""

    cold: str
    no_valves: str
    full: str


def complete_stages(stages: list[dict], parts: list[dict]) -> tuple[list[dict], Places, list[dict]]:
    """(the stages with those that were missing, where checks go, the ones that were added)."""
    valves = [row["ref"] for row in parts if row.get("kind") in VALVES]
    rows, added = [dict(stage) for stage in stages], []
    first = next((n for n, stage in enumerate(rows) if stage.get("power") == "on"), len(rows))
    if not any(stage.get("power", "off") == "off" for stage in rows[:first]):
        added.append(_cold(rows))
        rows.insert(0, added[-1])
        first += 1
    cold = _last_cold(rows[:first])
    loads = {row["ref"] for row in parts if row.get("kind") in VALVES and row["kind"] != "rectifier valve"}
    bare = next((s for s in rows if _leaves_out(s, {*valves}) or _leaves_out(s, loads)), None)
    if bare is None and valves:
        bare = _bare(rows, valves)
        added.append(bare)
        rows.insert(first, bare)
    full = next((s for s in reversed(rows) if s.get("power") == "on" and s is not bare and not s.get("supply")), None)
    if full is None:
        full = _full(rows)
        added.append(full)
        rows.append(full)
    return rows, Places(cold["key"], (bare or full)["key"], full["key"]), added


def _leaves_out(stage: dict, valves: set[str]) -> bool:
    """Is the stage powered without these valves? A rectifier valve that is in gives the B+ that is to be read first."""
    return bool(valves) and stage.get("power") == "on" and valves <= {*stage.get("not_fitted", [])}


def is_whole(stage: dict) -> bool:
    """Is a stage powered from the mains, with every part fitted?"""
    return stage.get("power") == "on" and not stage.get("supply") and not stage.get("not_fitted")


def signal_stage(rows: list[dict], settings: dict[str, float]) -> dict:
    """A stage for checks under a test tone, with the controls at `settings`."""
    stage = {"key": _key(rows, "under-tone"), "title": _("Under a test tone"), "power": "on"}
    return stage | ({"settings": settings} if settings else {}) | {"cautions": [*LIVE, "hot-glass"]}


def _last_cold(rows: list[dict]) -> dict:
    """The last stage before power, a gate where there is one."""
    gates = [stage for stage in rows if stage.get("gate")]
    return (gates or rows)[-1]


def _key(rows: list[dict], key: str) -> str:
    taken = {stage["key"] for stage in rows}
    return next(name for name in (key, *(f"{key}-{n}" for n in range(2, 99))) if name not in taken)


def _cold(rows) -> dict:
    key = _key(rows, "before-power")
    return {"key": key, "title": _("Resistance before power"), "gate": True, "cautions": ["discharge", "fuse"]}


def _bare(rows, valves) -> dict:
    return {
        "key": _key(rows, "first-power"),
        "title": _("First power, no valves"),
        "power": "on",
        "gate": True,
        "not_fitted": valves,
        "cautions": [*LIVE],
    }


def _full(rows) -> dict:
    key = _key(rows, "with-valves")
    return {"key": key, "title": _("Power with valves"), "power": "on", "gate": True, "cautions": [*LIVE, "hot-glass"]}
