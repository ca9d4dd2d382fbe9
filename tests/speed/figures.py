"""CPU time of an edited guide's figures, as the job makes them: `python -m tests.speed.figures [SAMPLES]`.

For the demo guide, and for one of 56 parts with seven ECC83 and windings of 0.1 ohm: as stiff a supply as there is.
Goal: 10 s or less on one core.
"""

import sys
import time

from tests.speed.dashboard import main

SAMPLES = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
VALVES, GOAL = 7, 10
HEAD = """format = 1
[kit]
key = "seven"
name = "Seven valves"
revision = "A"
mains = { volts = 230, hertz = 50 }
[[part]]
ref = "T1"
kind = "mains transformer"
regulation = "1%"
[[part.winding]]
name = "primary"
volts = "230 V"
ohms = "0.1R"
joins = ["mains.live", "mains.neutral"]
[[part.winding]]
name = "ht"
volts = "230 V"
amps = "100 mA"
ohms = "0.1R"
joins = ["ht.a", "chassis", "ht.b"]
[[part.winding]]
name = "heater"
volts = "6.3 V"
amps = "3 A"
ohms = "0.1R"
joins = ["heater.a", "heater.b"]
"""
PINS = 'pins = { a.anode = "6", a.grid = "7", a.cathode = "8", b.anode = "1", b.grid = "2", b.cathode = "3", '
PINS += 'heater = ["4", "5"], heater_centre = "9" }'
STAGE = """[[stage]]
key = "{key}"
title = "{key}"
power = "{power}"
cautions = ["lethal-voltage", "one-hand", "discharge"]
{more}
"""


def part(ref: str, kind: str, joins, **more) -> str:
    lines = [f'{name} = "{value}"' for name, value in {"ref": ref, "kind": kind, **more}.items()]
    return "\n".join(["[[part]]", *lines, f"joins = {joins}", ""])


def check(key: str, red: str, measure: str) -> str:
    stop = 'stop_above = "500 V"\n' if measure == "dc volts" else ""
    lines = [f'{n} = "{v}"' for n, v in (("key", key), ("title", key), ("measure", measure), ("red", red))]
    return "\n".join(["[[stage.check]]", *lines, 'black = "chassis"', f'expected = "model"\n{stop}'])


def seven_valves() -> str:
    text = HEAD + "".join(
        part(f"D{n}", "diode", f'{{ anode = "ht.{end}", cathode = "ht.one" }}', type="1N4007", volts="1000 V")
        for n, end in ((1, "a"), (2, "b"))
    )
    text += part("R1", "resistor", '["ht.one", "ht.two"]', value="1k", tolerance="5%", power="5W")
    text += part("R2", "resistor", '["ht.one", "chassis"]', value="220k", tolerance="5%", power="3W")
    for n, node in ((1, "ht.one"), (2, "ht.two")):
        text += part(f"C{n}", "electrolytic", f'["{node}", "chassis"]', value="47u", tolerance="20%", volts="450 V")
    checks, sections, number = [], [(n, half) for n in range(1, VALVES + 1) for half in "ab"], 10
    for n, half in sections:
        name = f"v{n}{half}"
        for value, ends in (("100k", ("ht.two", f"{name}.anode")), ("1k5", (f"{name}.cathode", "chassis")),
                            ("1M", (f"{name}.grid", "chassis"))):  # fmt: skip
            joins = f'["{ends[0]}", "{ends[1]}"]'
            text += part(f"R{number}", "resistor", joins, value=value, tolerance="5%", power="0.5W")
            number += 1
        checks += [check(f"{name}-{end}", f"{name}.{end}", "dc volts") for end in ("anode", "cathode")]
    for n in range(1, VALVES + 1):
        joins = ", ".join(f'{h}.{e} = "v{n}{h}.{e}"' for h in "ab" for e in ("anode", "grid", "cathode"))
        heater = 'heater = ["heater.a", "heater.a"], heater_centre = "heater.b"'
        text += part(f"V{n}", "twin triode", f"{{ {joins}, {heater} }}", type="ECC83", base="B9A") + PINS + "\n"
    supply = [check("one", "ht.one", "dc volts"), check("two", "ht.two", "dc volts")]
    cold = [check(f"ohms-{n}", f"v{n}a.cathode", "resistance") for n in range(1, VALVES + 1)]
    fitted = f"not_fitted = {[f'V{n}' for n in range(1, VALVES + 1)]}".replace("'", '"')
    text += STAGE.format(key="cold", power="off", more="") + "".join(cold)
    text += STAGE.format(key="supply", power="on", more=fitted) + "".join(supply)
    return text + STAGE.format(key="valves", power="on", more="") + "".join(checks)


def measure() -> None:
    from builds.guides.circuit.compute import compute
    from builds.guides.circuit.content import build_content
    from builds.guides.demo.files import demo_zip
    from builds.guides.guide_cache import load_guide
    from builds.guides.guide_file.read import read_guide
    from builds.guides.guide_file.store import store_guide
    from tests import factories

    designer = factories.make_designer()
    for name, raw in (("the demo guide", demo_zip()), ("seven ECC83", seven_valves().encode())):
        revision = store_guide(read_guide(raw), designer)
        content, steps = build_content(revision, load_guide(revision)), Steps()
        result = compute(content, steps.report, samples=SAMPLES)
        made = sum("value" in row for row in result["checks"].values())
        took = steps.seconds()
        print(f"{name}: {len(content['parts'])} parts, {made} figures of {len(result['checks'])} in "
              f"{sum(took.values()):.1f} s of CPU (goal {GOAL})")  # fmt: skip
        print("  " + ", ".join(f"{n} {s:.1f} s" for n, s in sorted(took.items(), key=lambda row: -row[1])[:4]))


class Steps:
    """CPU time of each step that is reported, from its report to the next."""

    def __init__(self):
        self.begun = [("begin", time.process_time())]

    def report(self, done, total, step="responses", number="", **_more) -> None:
        self.begun.append((f"{step} {number}".strip(), time.process_time()))

    def seconds(self) -> dict[str, float]:
        ends = [at for _name, at in self.begun[1:]] + [time.process_time()]
        return {name: end - at for (name, at), end in zip(self.begun, ends, strict=True)}


if __name__ == "__main__":
    main(measure)
