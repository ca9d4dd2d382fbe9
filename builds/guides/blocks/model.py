"""What a building block asks for, and what it may do with the answers."""

from collections.abc import Callable
from dataclasses import dataclass, field

from django.utils.translation import gettext_lazy as _

from builds.guides.parts_import.table import build_part
from builds.guides.wiring.ends import flat_joins, list_ends, with_joins
from checks.errors import ChecksError

WITH_A_METER = _("Measure it with a meter across the winding, unplugged and not wired to anything.")


@dataclass(frozen=True)
class Role:
    """A part of a block: its kinds (the first is that of a new part), the values it usually has, whether it may be
    left out, and the role without which it is not suggested."""

    name: str
    label: object
    kinds: tuple[str, ...]
    low: float = 0.0
    high: float = float("inf")
    is_needed: bool = True
    least_volts: float = 0.0
    beside: str = ""


@dataclass(frozen=True)
class Ask:
    """A point, a figure or a choice. `kind` is "point", "figure" (in `unit`), "choice" or "refs"."""

    name: str
    label: object
    kind: str = "point"
    default: str = ""
    choices: tuple = ()
    unit: str = ""
    is_needed: bool = True
    help: object = ""


@dataclass(frozen=True)
class Block:
    key: str
    title: object
    summary: object
    roles: tuple[Role, ...]
    asks: tuple[Ask, ...]
    lay: Callable[["Answers"], None]


@dataclass
class Answers:
    """What was answered, and the parts as they come to be joined."""

    refs: dict[str, str]
    values: dict[str, str]
    entries: dict[str, str]
    parts: dict[str, dict]  # all of the draft by reference
    roles: dict[str, Role]
    touched: dict[str, dict] = field(default_factory=dict)

    def __getitem__(self, name: str) -> str:
        return self.entries.get(name, "")

    def has(self, role: str) -> bool:
        return bool(self.refs.get(role))

    def row(self, role: str) -> dict:
        """The part in a role, as far as it is laid by now; made where the list has none. Raises ChecksError."""
        ref = self.refs.get(role, "")
        if not ref:
            raise ChecksError("missing", code="role-missing", argument=role)
        if ref in self.touched:
            return self.touched[ref]
        value, asked_role = self.values.get(role, ""), self.roles[role]
        row = dict(self.parts.get(ref) or {"ref": ref, "kind": asked_role.kinds[0]})
        if row["kind"] not in asked_role.kinds:
            raise ChecksError(
                "kind", code="role-kind", argument=role, ref=ref, kind=row["kind"], kinds=asked_role.kinds
            )
        self.touched[ref] = self._with_value(row, value, role)
        return self.touched[ref]

    def _with_value(self, row: dict, value: str, role: str) -> dict:
        if not value:
            return row
        if row["kind"] == "inductor" and row.get("value") and "H" not in value:
            value = f"{row['value']} {value}"  # the resistance of a choke that the list has
        read, wrong = build_part(row["ref"], {"value": value, "kind": row["kind"]})
        if wrong:
            raise ChecksError(wrong[0][1], code="role-value", argument=role, words=wrong[0][1])
        return row | read

    def join(self, role: str, *nodes: str) -> None:
        """Join a two-ended part, or one with named terminals in their order."""
        row = self.row(role)
        names = [end.terminal for end in list_ends(row)][: len(nodes)]
        self.terminals(role, dict(zip(names, nodes, strict=True)))

    def terminals(self, role: str, joins: dict[str, str]) -> None:
        """Join named terminals. One that is joined to another point already is refused."""
        row = self.row(role)
        flat = flat_joins(row)
        for name, node in joins.items():
            if flat.get(name) not in (None, "", node):
                raise ChecksError(
                    "wired", code="role-wired", argument=role, ref=row["ref"], end=name, point=flat[name], wanted=node
                )
        self.touched[row["ref"]] = with_joins(row, flat | joins)

    def electrodes(self, role: str, section: str, joins: dict[str, str]) -> None:
        """Join the electrodes of a section ("" for the only one); a third grid of its own pin goes to the cathode."""
        start = f"{section}." if section else ""
        row = self.row(role)
        if "suppressor" in (row.get("pins") or {}) and "cathode" in joins:
            joins = joins | {"suppressor": joins["cathode"]}
        self.terminals(role, {f"{start}{name}": node for name, node in joins.items()})

    def winding(self, role: str, name: str, nodes: tuple[str, ...], **figures: str) -> None:
        """Add a winding, or put this in the place of one with the same name."""
        row = self.row(role)
        winding = {"name": name, **{k: v for k, v in figures.items() if v}, "joins": list(nodes)}
        others = [other for other in row.get("winding", []) if other.get("name") != name]
        self.touched[row["ref"]] = row | {"winding": [*others, winding]}
