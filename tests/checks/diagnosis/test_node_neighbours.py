"""Which nodes a stray path cannot tell apart, and which of more paths than a list holds it keeps."""

import pytest

from checks.circuit import part_from_mapping
from checks.diagnosis import stray_paths
from checks.diagnosis.node_neighbours import FEW_OHMS, merged, steps_between
from checks.diagnosis.stray_paths import PATH_OHMS, list_paths


def part(ref, kind, joins=None, **more):
    return part_from_mapping({"ref": ref, "kind": kind, **({"joins": joins} if joins else {}), **more})


def winding(name, ohms, *joins, **more):
    return {"name": name, "ohms": ohms, "joins": list(joins)} | more


PARTS = [
    part(
        "T1",
        "mains transformer",
        regulation="8%",
        winding=[
            winding("primary", "20R", "mains.live", "mains.neutral", volts="230 V"),
            winding("ht", "2R", "ht.a", "ht.b", volts="200 V"),
            winding("heater", "0.1R", "warm.a", "warm.b", volts="6.3 V"),
        ],
    ),
    part("F2", "fuse", ["raw", "fused"], value="200 mA", ohms="1R"),
    part("R1", "resistor", ["fused", "z.one"], value="1k", tolerance="5%"),
    part("R2", "resistor", ["z.one", "a.two"], value="1k", tolerance="5%"),
    part("R3", "resistor", ["a.two", "m.three"], value="1k", tolerance="5%"),
    part("R4", "resistor", ["m.three", "b.four"], value="1k", tolerance="5%"),
    part("R5", "resistor", ["b.four", "chassis"], value="2R2", tolerance="5%"),
    part("R6", "resistor", ["ht.a", "raw"], value="1k", tolerance="5%"),
]


def test_what_a_few_ohms_join_is_one_end_of_a_path_and_the_chassis_stands_for_all_that_hangs_on_it():
    stands = merged(PARTS)
    assert stands["raw"] == stands["fused"] and stands["warm.a"] == stands["warm.b"]
    assert stands["b.four"] == stands["chassis"] == "chassis"
    assert len({stands[n] for n in ("raw", "z.one", "a.two", "m.three", "chassis")}) == 5


def test_a_winding_of_many_volts_keeps_its_ends_apart_however_few_its_ohms():
    assert merged(PARTS)["ht.a"] != merged(PARTS)["ht.b"]


def test_what_stands_for_a_path_reads_as_it_does():
    """Ohm's law: the few ohms in series with the least path are no more than an ohmmeter's own per cent."""
    assert FEW_OHMS / min(PATH_OHMS) <= 0.01


def test_only_one_path_leads_between_two_sets_of_nodes_that_few_ohms_join():
    stands = merged(PARTS)
    between = [frozenset(stands[end] for end in path.ends) for path in list_paths(PARTS)]
    assert len(between) == len(set(between)) and all(len(ends) == 2 for ends in between)


def test_neighbours_are_counted_by_the_parts_between_them():
    steps = steps_between(PARTS)
    assert steps["z.one", "a.two"] == 1 and steps["a.two", "z.one"] == 1
    assert steps["z.one", "b.four"] == 3
    assert ("z.one", "warm.a") not in steps


@pytest.mark.parametrize("most", [7, 10])
def test_a_list_that_is_too_long_keeps_neighbours_whatever_their_names(monkeypatch, most):
    renamed = {"z.one": "a.one", "a.two": "z.two", "b.four": "y.four"}

    def kept(parts):
        monkeypatch.setattr(stray_paths, "MOST", most)
        return [frozenset(renamed.get(end, end) for end in path.ends) for path in list_paths(parts)]

    other = [
        part(p.ref, "resistor", [renamed.get(n, n) for n in p.nodes], value=str(p.value), tolerance="5%")
        for p in PARTS
        if p.kind == "resistor"
    ]
    same = [
        part(p.ref, "resistor", list(p.nodes), value=str(p.value), tolerance="5%")
        for p in PARTS
        if p.kind == "resistor"
    ]
    assert kept(same) == kept(other) and len(kept(same)) == most
    monkeypatch.setattr(stray_paths, "MOST", 10**6)
    whole = [path.ends for path in list_paths(same)]
    steps = steps_between(same)
    far = [steps.get(ends, 99) for ends in whole if "chassis" not in ends]
    assert far == sorted(far) and far[0] == 1
