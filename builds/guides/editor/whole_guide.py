"""A row of a draft judged within its whole guide, by the same rules as the guide file."""

from dataclasses import dataclass

from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.walk import Problem, Walker
from builds.guides.guide_file.write import as_tables

INNER = ("step", "check")


@dataclass(frozen=True)
class Judged:
    """`own` problems lie in the row itself; `dangers` are new ones that it makes elsewhere, and that could hurt."""

    own: tuple[Problem, ...]
    dangers: tuple[Problem, ...]


def judge_row(table: str, row: dict, instance) -> Judged:
    """The problems of the draft with `row` in place of `instance`, or after the others if it is new."""
    revision = instance.stage.revision if table in INNER else instance.revision
    guide = load_guide(revision)
    data, pictures = as_tables(revision, guide), frozenset(guide.pictures)
    before = {(p.label, p.message) for p in Walker(data, pictures).problems() if p.is_danger}
    place = _put(data, table, row, instance)
    problems = list(Walker(data, pictures).problems())
    own = tuple(problem for problem in problems if problem.place.row == place)
    dangers = (p for p in problems if p.is_danger and p.place.row != place and (p.label, p.message) not in before)
    return Judged(own, tuple(dangers))


def _put(data: dict, table: str, row: dict, instance) -> tuple[str, int]:
    """Put a row in its place among the guide's rows; (table, index) as the walker counts."""
    if table not in INNER:
        rows = data[table]
        index = _index(getattr(instance.revision, f"{table}s").all(), instance)
        if table == "stage" and index < len(rows):  # its steps and checks stay
            row = row | {name: rows[index][name] for name in ("order", *INNER) if name in rows[index]}
        rows[index : index + 1] = [row]
        return table, index
    stage = _index(instance.stage.revision.stages.all(), instance.stage)
    rows = data["stage"][stage].setdefault(table, [])
    index = _index(getattr(instance.stage, f"{table}s").all(), instance)
    _rename(data["stage"][stage], rows, index, row)
    rows[index : index + 1] = [row]
    return f"stage.{table}", sum(len(other.get(table, [])) for other in data["stage"][:stage]) + index


def _rename(stage: dict, rows: list, index: int, row: dict) -> None:
    """The order of a stage names a step or check by its new key."""
    if "order" in stage:
        old = rows[index]["key"] if index < len(rows) else None
        stage["order"] = [row.get("key") if key == old else key for key in stage["order"]]
        if old is None:
            stage["order"].append(row.get("key"))


def _index(siblings, instance) -> int:
    order = [sibling.pk for sibling in siblings]
    return order.index(instance.pk) if instance.pk in order else len(order)
