"""A capacitor that leaks across a resistor, and the resistor at fewer ohms, are the same to a meter (Ohm's law)."""

from checks.diagnosis import fault_list, prepare
from checks.diagnosis.grouping import group_indistinct
from tests.checks.diagnosis.test_faults import PARTS, STAGES


def test_a_leak_across_a_resistor_is_shown_and_is_one_answer_with_the_resistors_other_values():
    ends = {frozenset(p.joins.values()): p.ref for p in PARTS if p.kind == "resistor"}
    bypass = next(
        p for p in PARTS if p.kind == "electrolytic" and frozenset(p.joins.values()) in ends and p.volts < 100
    )
    beside = ends[frozenset(bypass.joins.values())]
    node = next(iter(set(bypass.joins.values()) - {"chassis"}))
    check = {"key": "k", "measure": "resistance", "red": node, "black": "chassis", "through": ""}
    faults = [f for f in fault_list(PARTS) if f.refs in ((bypass.ref,), (beside,)) and f.code != "stray path"]
    kit = prepare(PARTS, [{**STAGES[0], "checks": [check]}], samples=16, faults=faults)
    unseen, sets = group_indistinct(kit)
    names = [f.key for f in kit.faults]
    assert f"{bypass.ref} leaky" not in {names[f] for f in unseen}
    together = next({names[f] for f in members} for members in sets if names.index(f"{beside} other value") in members)
    assert f"{bypass.ref} leaky" in together
