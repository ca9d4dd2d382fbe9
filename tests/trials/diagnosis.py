"""The site's diagnosis tried on builds it has never seen: python -m tests.trials.diagnosis [--builds FILE] [--wrong]

Every kit is imported and issued in a database of its own, its fault dictionary prepared as the site's job prepares it,
every reading entered as a builder enters it, and the causes ranked as the bench ranks them: after the reading that is
off, after it was read again, and after the rest of its stage. Nothing here is a test: it prints what was found.
"""
# ruff: noqa: T201

import argparse
import os
import re
import tempfile
from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.trials import draw
from tests.trials.circuit import GUIDES, load
from tests.trials.figures import figure
from tests.trials.meters import TYPES, unit_of

SURE = 0.8
LEAST_DUE = 0.3  # half-bands that a fault must have moved the reading by for it to be the fault's
MOMENTS = ("after the reading that is off", "after reading it again", "after the rest of its stage")
BINS = (0.0, 0.2, 0.4, 0.6, 0.8, 0.9, 1.01)
# Codes of the site's list that say the same of a part as a kind of ours.
LOOSE = {"open", "capacitor open", "track open", "winding open", "choke open", "fuse blown", "diode open", "dry pin"}
LOOSE |= {"valve heater", "cold joint", "device open"}
SAME = {
    "open": LOOSE,
    "joint": LOOSE | {"winding ohms", "choke ohms"},
    "short": {"short", "capacitor short", "capacitor leaky", "diode reversed", "device short", "passes its input"},
    "high": {"ten times too large", "misread", "other value", "cold joint", "winding ohms", "choke ohms"},
    "low": {"ten times too small", "misread", "other value"},
    "swap": {"changed places"},
    "leaky": {"capacitor leaky", "capacitor short"},
    "reversed": {"capacitor reversed", "diode reversed", "diode turned", "capacitor short", "zener reversed"},
    "weak": {"valve weak", "valve dead", "rectifier weak", "rectifier dead"},
    "dead": {"valve dead", "valve heater", "rectifier dead"},
    "gassy": {"valve gassy"},
    "bridge": {"pins touch", "pins leak"},
    "tap": {"tap for half the mains", "tap for twice the mains"},
}


@dataclass
class Told:
    """What the bench says of a build: probabilities of a good kit and of something unknown, and groups of faults."""

    build: dict
    clear: float
    other: float
    groups: list  # (faults, probability)
    listed: bool  # has the site's list what is true?

    def answer(self):
        """(what is said first, how sure)."""
        best = self.groups[0] if self.groups else ((), 0.0)
        return max([("clear", self.clear), ("other", self.other), best], key=lambda x: x[1])

    def is_right(self, faults) -> bool:
        return any(is_same(truth, fault) for truth in self.build["truth"] for fault in faults)

    @property
    def right(self) -> bool:
        said, _p = self.answer()
        if is_sound(self.build):
            return said == "clear"
        if not self.listed:
            return said == "other" or said not in ("clear", "other") and self.names_part(said)
        return said not in ("clear", "other") and self.is_right(said)

    @property
    def is_sure_and_wrong(self) -> bool:
        return not self.right and self.answer()[1] >= SURE

    def said(self, word: str) -> bool:
        return self.answer()[0] == word

    @property
    def right_part(self) -> bool:
        """Is the part named first the one at fault, whatever is said of it, or a fuse that it has blown?"""
        said, _p = self.answer()
        return said not in ("clear", "other") and self.names_part(said)

    def names_part(self, faults) -> bool:
        """Of a fault on no list the part is all that can be told, and of a path between nodes those two nodes."""
        if any(joins_same(truth, fault, self.build) for truth in self.build["truth"] for fault in faults):
            return True
        own = {ref for kind, refs, _d in self.build["truth"] for ref in refs if kind != "unlisted" or len(refs) == 1}
        return any((own | set(self.build["blown"])) & set(fault.refs) for fault in faults)


def is_sound(build) -> bool:
    """A kit with nothing wrong, whatever slipped at the meter."""
    return all(kind == "slip" for kind, *_ in build["truth"])


def is_same(truth, fault) -> bool:
    """Is a fault of the site's list the one that is true?"""
    kind, refs, detail = truth
    if fault.code not in SAME.get(kind, ()):
        return False
    if kind == "tap":
        return fault.code == ("tap for half the mains" if "115" in detail else "tap for twice the mains")
    if not set(refs) <= set(fault.refs):
        return False
    if kind == "bridge":
        return set(re.findall(r"\d+", detail)) == {str(fault.params["pin"]), str(fault.params["other"])}
    if kind in ("high", "low") and {"ohms", "listed"} <= set(fault.params):
        return (fault.params["ohms"] > fault.params["listed"]) == (kind == "high")
    return True


def joins_same(truth, fault, build) -> bool:
    """Is a fault of the site's list a path between the two nodes that a path on no list joins?"""
    kind, _refs, detail = truth
    ends = re.fullmatch(r"(\S+) to (\S+): \S+ ohm", detail)
    if kind != "unlisted" or not ends or fault.code not in ("stray path", "pins leak"):
        return False
    if fault.code == "pins leak":
        at = pins_of(build["kit"])[fault.refs[0]]
        points = {at[str(fault.params[name])] for name in ("pin", "other")}
    else:
        points = {fault.params["one"], fault.params["other"]}
    return _wires(build["kit"], points) == _wires(build["kit"], ends.groups())


def _wires(kit: str, nodes) -> set[str]:
    """Nodes, each as the chassis or the first of those that a fuse or a winding of a few volts or ohms joins with it:
    no meter tells them apart."""
    made = set()
    for node in nodes:
        group, before = {node}, 0
        while len(group) > before:
            before = len(group)
            group |= {n for pair in _short_ways(kit) if group & pair for n in pair}
        made.add("chassis" if "chassis" in group else min(group))
    return made


@cache
def _short_ways(kit: str) -> tuple[frozenset[str], ...]:
    ways = [frozenset(row["joins"]) for row in load(kit)["part"] if row["kind"] == "fuse"]
    for row in load(kit)["part"]:
        for winding in row.get("winding", []):
            if figure(winding.get("ohms", "1k")) <= 3.0 and figure(winding.get("volts", "0 V")) <= 20.0:
                ways.append(frozenset(winding["joins"]))
    return tuple(ways)


@cache
def pins_of(kit: str) -> dict[str, dict[str, str]]:
    """Valve -> socket pin -> node."""
    return {row["ref"]: dict(_nodes_of(row["pins"], row["joins"])) for row in load(kit)["part"] if "pins" in row}


def _nodes_of(pins, joins):
    if isinstance(pins, dict):
        for name in set(pins) & set(joins):
            yield from _nodes_of(pins[name], joins[name])
    elif isinstance(pins, list):
        yield from zip(pins, joins, strict=True)
    else:
        yield pins, joins


def typed(shown: float | None, meter: str, measure: str) -> str:
    """A reading as a builder types it, with the digits that the meter shows."""
    if shown is None:
        return "OL"
    volts = measure in ("dc volts", "ac volts", "current")
    scale, prefix = (1.0, "") if volts or abs(shown) < 1e3 else (1e3, "k") if abs(shown) < 1e6 else (1e6, "M")
    unit = unit_of(shown, TYPES[meter][0], 1e-4 if volts else 0.1)
    digits = max(0, -int(f"{unit / scale:e}".split("e")[1]))
    return f"{shown / scale:.{digits}f} {prefix}{'V' if volts else 'Ω'}"


# ---- the site
def open_site() -> None:
    """A database of its own in a folder that is thrown away. Call before anything of the site is imported."""
    os.environ.update(DATA_DIR=tempfile.mkdtemp(), DJANGO_SETTINGS_MODULE="builds.settings", TASKS="queue")
    os.environ.pop("DATABASE_URL", None)
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)


class Site:
    """A kit on the site, issued, with its fault dictionary, and a person who builds."""

    def __init__(self, kit: str):
        from builds.accounts.models import Person
        from builds.guides.circuit.fault_dictionary import load_fault_dictionary, store_fault_dictionary
        from builds.guides.guide_file import read_guide, store_guide
        from builds.guides.revisions import issue

        designer = Person.objects.create_person(f"Designer of {kit}", "a long trial password 41", may_design=True)
        self.builder = Person.objects.create_person(f"Builder of {kit}", "a long trial password 41")
        self.revision = store_guide(read_guide((GUIDES / f"{kit}.toml").read_bytes()), designer)
        issue(self.revision)
        self.revision.refresh_from_db()
        store_fault_dictionary(self.revision)
        self.prepared = load_fault_dictionary(self.revision)
        self.checks = {f"{s.key}/{c.key}": c for s in self.revision.stages.all() for c in s.checks.all()}
        self.power = {s["key"]: s.get("power") for s in load(kit)["stage"]}

    def knows(self, place: str) -> bool:
        return place in self.prepared.index

    def has(self, truth) -> bool:
        return all(
            kind == "slip" or any(is_same(row, f) for f in self.prepared.faults) for row in truth for kind in row[:1]
        )

    def new_build(self, number: int, meter: str):
        from builds.accounts.models import Meter
        from builds.bench.models import Build

        kept = Meter.objects.create(owner=self.builder, name=meter, spec=_spec(meter))
        return Build.objects.create(
            revision=self.revision, serial=f"{number:04d}", builder=self.builder, meter=kept, mains_volts=230
        )

    def enter(self, build, drawn: dict, readings) -> bool:
        """Enter readings as the builder does; whether one of them stops."""
        from builds.bench.readings.taking import take_reading

        stopped = False
        for place, shown in readings:
            check = self.checks[place]
            line = drawn["mains"] if self.power[check.stage.key] == "on" else None
            text = typed(shown, drawn["meter"], check.measure)
            reading = take_reading(build, check, text, by=self.builder, mains_volts=line)
            stopped |= reading.outcome == "switch off"
        return stopped

    def tell(self, build, drawn: dict, stopped: bool) -> Told:
        from builds.bench.diagnosis.diagnose import compute_ranking

        ranking = compute_ranking(build, self.prepared)
        ranking = ranking.condition_on_fault() if stopped else ranking
        groups = [(group.faults, group.probability) for group in ranking.groups]
        return Told(drawn, ranking.clear, ranking.other, groups, self.has(drawn["truth"]))


def _spec(name: str) -> dict:
    """One of our meters as the site keeps a meter."""
    _counts, ohms, dc, ac, resistance, _most = TYPES[name]
    exact = {"percent": 0.0, "digits": 0, "full_scale": False}
    rows = {"dc_volts": dc, "ac_volts": ac, "ohms": resistance}
    accuracies = {key: exact | dict(zip(("percent", "digits"), spec, strict=True)) for key, spec in rows.items()}
    return {"kind": "digital", **accuracies, "input_ohms": ohms, "ohms_per_volt": None, "ranges": []}


# ---- the account
def account(told: list[Told]) -> None:
    """Print how often the bench is right, and how sure it is."""
    faulty = [t for t in told if not is_sound(t.build)]
    listed = [t for t in faulty if t.listed and t.build["kind"] == "single"]
    sound = [t for t in told if is_sound(t.build)]
    healthy, slips = ([t for t in sound if t.build["kind"] == kind] for kind in ("healthy", "single"))
    beyond = [t for t in faulty if not t.listed]
    _line("single faults of the list", listed)
    _line("of them coming with the first power", [t for t in listed if t.build["late"]])
    _line("pairs, either of the two", [t for t in faulty if t.listed and t.build["kind"] == "pair"])
    print(f"healthy, {len(healthy)}: called healthy {share(t.right for t in healthy)}")
    print(f"slips, {len(slips)}: called clear {share(t.right for t in slips)}")
    print(f"on no list, {len(beyond)}: called clear {share(t.said('clear') for t in beyond)}, ", end="")
    print(f"called unknown {share(t.said('other') for t in beyond)}, ", end="")
    print(f"the right part named {share(t.right and not t.said('other') for t in beyond)}")
    wrong = [t for t in told if t.is_sure_and_wrong]
    print(f"wrong and {SURE:.0%} sure or more: {len(wrong)} of {len(told)} ({len(wrong) / len(told):.1%})")
    print(f"Brier score of what is said first: {sum((t.answer()[1] - t.right) ** 2 for t in told) / len(told):.3f}")
    reliability(told)
    by_kind(listed)


def _line(words: str, rows: list[Told]) -> None:
    print(f"{words}, {len(rows)}: first right {share(t.right for t in rows)}, ", end="")
    print(
        f"in three {share(map(in_three, rows))}, right part or fuse first {share(t.right_part for t in rows)}, ", end=""
    )
    print(f"called clear {share(t.said('clear') for t in rows)}")


def list_wrong(told: list[Told]) -> None:
    for t in (t for t in told if t.is_sure_and_wrong):
        said, p = t.answer()
        first, b = said if isinstance(said, str) else said[0].key, t.build
        late = ", late" if b["late"] else ""
        print(f"  {p:.2f} {first} | {b['kit']} {b['truth']} {b['off']} {dict(b['readings']).get(b['off'])}{late}")


def in_three(t: Told) -> bool:
    return not t.said("clear") and any(t.is_right(faults) for faults, _p in t.groups[:3])


def share(found) -> str:
    found = list(found)
    return f"{sum(found) / len(found):.1%}" if found else "none"


def reliability(told: list[Told]) -> None:
    print("sure | right | builds")
    for low, high in zip(BINS, BINS[1:], strict=False):
        rows = [t for t in told if low <= t.answer()[1] < high]
        if rows:
            sure, right = sum(t.answer()[1] for t in rows) / len(rows), sum(t.right for t in rows) / len(rows)
            print(f"{sure:.2f} | {right:.2f} | {len(rows)}")


def by_kind(told: list[Told]) -> None:
    found = defaultdict(list)
    for t in told:
        found[t.build["truth"][0][0]].append(t)
    for kind, rows in sorted(found.items()):
        print(f"  {kind}: {len(rows)}, first {share(t.right for t in rows)}, in three {share(map(in_three, rows))}")


def moments(drawn: dict):
    """The readings of a build as they come in: up to the one that is off, that one again, the rest of its stage."""
    places = [place for place, _shown in drawn["readings"]]
    if not drawn["off"]:
        return [drawn["readings"], [], []]
    n = places.index(drawn["off"])
    first, rest = drawn["readings"][: n + 1], drawn["readings"][n + 1 :]
    if drawn["stop"]:
        return [first, [], []]
    again = [] if any(kind == "slip" for kind, *_ in drawn["truth"]) else [drawn["readings"][n]]
    return [first, again, rest]


def try_kit(kit: str, builds: list[dict], silent: Counter):
    """Yield (moment, Told) for every build of which the bench says something."""
    site = Site(kit)
    for number, drawn in enumerate(builds):
        if why := _nothing_to_tell(site, drawn):
            silent[why] += 1
            continue
        build, stopped = site.new_build(number, drawn["meter"]), False
        for moment, readings in zip(MOMENTS, moments(drawn), strict=True):
            stopped |= site.enter(build, drawn, readings)
            yield moment, site.tell(build, drawn, stopped)


def _nothing_to_tell(site: Site, drawn: dict) -> str:
    if is_sound(drawn):
        return ""
    if not drawn["off"]:
        return "no reading is off"
    if not site.knows(drawn["off"]):
        return "the circuit says nothing of the reading that is off"
    return "" if drawn["due"] >= LEAST_DUE else "a good build's spread put the reading off"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--builds", type=Path, default=draw.KEPT)
    parser.add_argument("--wrong", action="store_true", help="list what was wrong and sure")
    asked = parser.parse_args()
    open_site()
    builds, told, silent = draw.read(asked.builds), defaultdict(list), Counter()
    for kit in dict.fromkeys(b["kit"] for b in builds):
        for moment, one in try_kit(kit, [b for b in builds if b["kit"] == kit], silent):
            told[moment].append(one)
    print(f"{len(builds)} builds; left out: " + ", ".join(f"{n} where {why}" for why, n in silent.items()))
    for moment in MOMENTS:
        print(f"\n== {moment}")
        account(told[moment])
        if asked.wrong:
            list_wrong(told[moment])


if __name__ == "__main__":
    main()
