"""What changed from one revision to another, row by row."""
from dataclasses import dataclass

from builds.guides.guide_file.write import as_data


@dataclass(frozen=True)
class Difference:
    where: str
    key: str
    before: object
    after: object


def differences(before, after) -> list[Difference]:
    """Every row and figure that differs between two revisions of a guide, in the guide's order."""
    old, new = _flat(as_data(before)), _flat(as_data(after))
    found = []
    for where in [*old, *(w for w in new if w not in old)]:
        a, b = old.get(where), new.get(where)
        if a is None or b is None:
            found.append(Difference(where, "", "–" if a is None else "there", "added" if a is None else "removed"))
            continue
        found += [Difference(where, key, a.get(key, "–"), b.get(key, "–")) for key in sorted({*a, *b})
                  if a.get(key) != b.get(key)]
    return found


def _flat(data) -> dict:
    rows = {"kit": {k: v for k, v in data["kit"].items() if k not in ("key", "revision")}}
    rows |= {f"point {p['node']}": p for p in data["point"]} | {f"part {p['ref']}": p for p in data["part"]}
    rows |= {f"fault {f.get('key', '')}": f for f in data.get("fault", [])}
    for stage in data["stage"]:
        label = f"stage {stage['key']}"
        rows[label] = {k: v for k, v in stage.items() if k not in ("step", "check")}
        rows |= {f"{label}, step {s['key']}": s for s in stage.get("step", [])}
        rows |= {f"{label}, check {c['key']}": c for c in stage.get("check", [])}
    return rows
