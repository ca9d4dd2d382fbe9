"""Draw builds of the trial kits with known faults: python -m tests.trials.draw --seed N [--to FILE]

Without --to the builds that the trial runs on are replaced. A build that the solver cannot settle is drawn again and
counted.
"""

# ruff: noqa: T201
import argparse
import json
from collections import Counter
from pathlib import Path

import numpy as np

from tests.trials.bench import Bench
from tests.trials.beyond import beyond
from tests.trials.circuit import FURTHER, KITS, LAST, LATER, OPEN, VALVES, circuit_of, load
from tests.trials.faults import all_faults, unlisted
from tests.trials.figures import figure, limits
from tests.trials.meters import draw_meter
from tests.trials.network import NoSolution
from tests.trials.scatter import BATCHES, batch_of, draw_mains, scatter
from tests.trials.taking import reading, take

KEPT = Path(__file__).parent / "data" / "builds.json"
KEPT_FURTHER = Path(__file__).parent / "data" / "builds-further.json"
KEPT_LAST = Path(__file__).parent / "data" / "builds-last.json"  # one round, and half of the unlisted from beyond.py
KEPT_LATER = Path(__file__).parent / "data" / "builds-later.json"  # half as many of each kind
KEPT_NEWEST = (
    Path(__file__).parent / "data" / "builds-newest.json"
)  # of the newest kit, about half as many of each kind
# How many single faults of each family a kit gets in a round; probes in each other's place are one build more.
QUOTAS = {
    "open": 8,
    "short": 5,
    "value": 7,
    "swap": 3,
    "leaky": 5,
    "reversed": 4,
    "valve": 5,
    "winding": 3,
    "joint": 5,
    "tap": 1,
}
ROUNDS, SLIPS, PAIRS, UNLISTED, HEALTHY = 2, 2, 15, 15, 40
NOTES_MAINS = 0.9
LATE, LATE_SHARE = (
    ("open", "short", "leaky", "joint"),
    0.25,
)  # what may come only with the first power, and how often it does


def draw_build(kit: str, guide: dict, rng, seed: int, choose, slip=False, bench_of=Bench) -> dict:
    """One build: parts drawn, the faults that `choose` names put in, readings taken on a bench."""
    letter, circuit = str(rng.choice(BATCHES)), circuit_of(guide)
    scatter(circuit, rng, batch_of(kit, letter, seed))
    sound, truth = circuit.copy(), choose(circuit)
    late = [f.change for f in truth if f.kind in LATE and rng.random() < LATE_SHARE]
    for fault in truth:
        if fault.change not in late:
            fault.change(circuit)
    line, meter = draw_mains(rng), draw_meter(rng)
    noted = round(line * (1 + rng.uniform(-0.01, 0.01))) if rng.random() < NOTES_MAINS else None
    bench = bench_of(guide, circuit, line, late)
    log = take(bench, meter, noted, rng, slip)
    due = moved(bench, bench_of(guide, sound, line), log.off) if truth and log.off else None
    rows = [f.as_row() for f in truth] + ([["slip", [], log.slip]] if slip else [])
    return {
        "kit": kit,
        "batch": letter,
        "mains": noted,
        "meter": meter.name,
        "truth": rows,
        "readings": log.readings,
        "off": log.off,
        "stop": log.stop,
        "late": bool(late),
        "due": due,
        "blown": [ref for ref in blown(circuit) if not any(ref in f.refs for f in truth)],
        "beside": beside(bench, meter, log) if truth and log.off else [],
    }


def beside(bench: Bench, meter, log) -> list:
    """[probe, probe, shown]: with the power off again, every pin to chassis and every resistor end to end, as a builder
    may be asked for them once all is wired. Drawn apart, so that the rest of the builds stays as it is."""
    stage = log.readings[-1][0].split("/")[0]
    n = next(n for n, row in enumerate(bench.guide["stage"]) if row["key"] == stage)
    parts = bench.circuit.parts.values()
    wanted = {p.ref for p in parts if p.kind not in VALVES}
    if wanted - bench.fitted(n):
        return []
    rng = np.random.default_rng([len(log.readings), n])
    pins = [
        (f"{ref}.{pin}", "chassis")
        for ref, by in bench.pins.items()
        for pin, end in by.items()
        if ref in bench.circuit.parts and not end.startswith("heater")
    ]
    ends = [tuple(bench.guide_ends(p.ref)) for p in parts if p.kind == "resistor"]
    checks = [{"red": red, "black": black, "measure": "resistance"} for red, black in (*pins, *ends)]
    off, bench.solved = bench.unpowered(n), {}  # what broke down or blew is so now
    return [[c["red"], c["black"], reading(bench, off, c, meter, rng)[0]] for c in checks]


def blown(circuit) -> list[str]:
    """Fuses without continuity."""
    return [p.ref for p in circuit.parts.values() if p.kind == "fuse" and p.is_["ohms"] >= OPEN]


def moved(bench: Bench, sound: Bench, place: str) -> float:
    """Half-bands by which the fault moves a reading; little where a good build's own spread put it out of band."""
    stage, key = place.split("/")
    n = next(n for n, row in enumerate(bench.guide["stage"]) if row["key"] == stage)
    check = next(c for c in bench.guide["stage"][n]["check"] if c["key"] == key)
    low, high = limits(check)
    half = (high - low) / 2 if None not in (low, high) else abs(low if high is None else high)
    if check["measure"] == "current":
        half *= figure(next(p["value"] for p in bench.guide["part"] if p["ref"] == check["through"]))
    there, here = (min(b.value(n, check, 10e6), 1e9) for b in (sound, bench))
    return round(min(abs(here - there) / half, 99.0), 2)


def of_family(family: str, rng):
    def choose(circuit):
        every = all_faults(circuit, rng)
        found = every[family] or every["value"]  # a kit without valves has no fault of theirs
        return [found[int(rng.integers(len(found)))]]

    return choose


def pair(rng):
    """Two faults of different parts, families drawn as often as their quotas."""
    names = list(QUOTAS)
    weights = np.array([QUOTAS[name] for name in names]) / sum(QUOTAS.values())

    def choose(circuit):
        while True:
            two = [of_family(str(name), rng)(circuit)[0] for name in rng.choice(names, 2, p=weights)]
            if not set(two[0].refs) & set(two[1].refs):
                return two

    return choose


def orders(rng):
    """(kind of build, what chooses its faults, whether there is a slip), for every build of a kit."""
    for _ in range(ROUNDS):
        for family, number in QUOTAS.items():
            yield from (("single", of_family(family, rng), False) for _ in range(number))
    yield from (("single", lambda _c: [], True) for _ in range(SLIPS))
    yield from (("pair", pair(rng), False) for _ in range(PAIRS))
    yield from (("unlisted", lambda c: [unlisted(c, rng)], False) for _ in range(UNLISTED))
    yield from (("healthy", lambda _c: [], False) for _ in range(HEALTHY))


def last_orders(rng):
    """The same for the last kit: one round of singles, and more of what no list has."""
    for family, number in QUOTAS.items():
        yield from (("single", of_family(family, rng), False) for _ in range(number))
    yield from (("pair", pair(rng), False) for _ in range(PAIRS // 2))
    for made in (unlisted, beyond):
        yield from (("unlisted", lambda c, made=made: [made(c, rng)], False) for _ in range(PAIRS))
    yield from (("healthy", lambda _c: [], False) for _ in range(HEALTHY // 2))


def draw_kit(kit: str, seed: int, given_up: Counter):
    guide, rng = load(kit), np.random.default_rng([seed, (*KITS, *FURTHER, *LATER, *LAST).index(kit)])
    for kind, choose, slip in (last_orders if kit in LAST else orders)(rng):
        while True:
            try:
                yield {"kind": kind, **draw_build(kit, guide, rng, seed, choose, slip)}
                break
            except (NoSolution, np.linalg.LinAlgError):
                given_up[kit, kind] += 1


def write(builds: list[dict], seed: int, path: Path) -> None:
    """Readings as [number of the place, shown]; one build a line."""
    kits = dict.fromkeys(b["kit"] for b in builds)
    places = {kit: [f"{s['key']}/{c['key']}" for s in load(kit)["stage"] for c in s.get("check", [])] for kit in kits}
    rows = [
        b | {"readings": [[places[b["kit"]].index(place), shown] for place, shown in b["readings"]]} for b in builds
    ]
    lines = ",\n".join(json.dumps(row, separators=(",", ":")) for row in rows)
    path.write_text(f'{{"seed":{seed},"places":{json.dumps(places)},"builds":[\n{lines}\n]}}\n')


def read(path: Path = KEPT) -> list[dict]:
    """The builds of a file, their readings as (place, shown)."""
    kept = json.loads(path.read_text())
    return [
        b | {"readings": [(kept["places"][b["kit"]][n], shown) for n, shown in b["readings"]]} for b in kept["builds"]
    ]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--to", type=Path)
    parser.add_argument("--further", action="store_true", help="of the further kits")
    parser.add_argument("--last", action="store_true", help="of the last kits")
    parser.add_argument("--kit", choices=(*KITS, *FURTHER, *LATER, *LAST), help="of this kit alone")
    asked = parser.parse_args()
    given_up, builds = Counter(), []
    if asked.kit and not asked.to:
        parser.error("--kit needs --to")
    for kit in [asked.kit] if asked.kit else LAST if asked.last else FURTHER if asked.further else KITS:
        builds += draw_kit(kit, asked.seed, given_up)
        print(f"{kit}: {sum(b['kit'] == kit for b in builds)} builds")
    path = asked.to or (KEPT_LAST if asked.last else KEPT_FURTHER if asked.further else KEPT)
    write(builds, asked.seed, path)
    print(f"{len(builds)} builds in {path}; not settled and drawn again: {dict(given_up) or 'none'}")


if __name__ == "__main__":
    main()
