"""Building blocks of the trade as the smallest parts lists that have them, to be drawn one by one."""

from tests.checks.schematic.kits import can, mains, part, transformer, triode, two

BATTERY = part("B1", "battery", "plus=ht minus=chassis")
INPUT = part("J1", "connector", "tip=in sleeve=chassis")
OUTPUT = part("J2", "connector", "tip=out sleeve=chassis")


def valve(ref, anode, grid, cathode):
    return part(ref, "triode", {"anode": anode, "grid": grid, "cathode": cathode})


def pentode(ref, anode, screen, grid, cathode):
    return part(ref, "pentode", {"anode": anode, "screen": screen, "grid": grid, "cathode": cathode})


def iron(*secondaries):
    return [transformer("T1", "mains transformer", ("primary", "230 V", "m.l", "m.n"), *secondaries)]


def common_cathode():
    return [BATTERY, INPUT, OUTPUT, two("R1", "in", "chassis", "1M"), two("R2", "ht", "a", "100k"),
            two("R3", "k", "chassis", "1k5"), can("C1", "k", "chassis", "22µ"), two("C2", "a", "out", "100n"),
            valve("V1", "a", "in", "k"), two("R4", "out", "chassis", "1M")]  # fmt: skip


def cathode_follower():
    return [BATTERY, INPUT, OUTPUT, two("R1", "in", "chassis", "1M"), two("R2", "k", "chassis", "47k"),
            two("C1", "k", "out", "1µ"), valve("V1", "ht", "in", "k")]  # fmt: skip


def grounded_grid():
    return [BATTERY, OUTPUT, part("J1", "connector", "tip=in sleeve=chassis"), two("C1", "in", "k", "10µ"),
            two("R1", "k", "chassis", "1k"), two("R2", "ht", "a", "47k"), two("C2", "a", "out", "100n"),
            valve("V1", "a", "chassis", "k")]  # fmt: skip


def shunt_regulated_push_pull():
    """The upper valve's grid at the upper end of its cathode resistor's foot."""
    return [BATTERY, INPUT, OUTPUT, two("R1", "in", "chassis", "1M"), two("R2", "k1", "chassis", "680R"),
            two("R3", "a1", "k2", "680R"), two("C1", "k2", "out", "1µ"),
            valve("V1", "a1", "in", "k1"), valve("V2", "ht", "a1", "k2")]  # fmt: skip


def current_source_load():
    return [BATTERY, INPUT, OUTPUT, part("Q1", "n-channel mosfet", "gate=g drain=ht source=s"),
            two("R1", "ht", "g", "1M"), two("R2", "g", "a", "2M2"), two("R3", "s", "a", "100R"),
            two("C1", "s", "g", "1µ"), two("R4", "k", "chassis", "470R"), two("R5", "in", "chassis", "1M"),
            two("C2", "a", "out", "470n"), valve("V1", "a", "in", "k")]  # fmt: skip


def single_ended_output():
    return [BATTERY, INPUT, part("J2", "connector", "plus=spk minus=chassis", form="speaker"),
            two("R1", "in", "chassis", "470k"), two("R2", "in", "g", "1k"), two("R3", "ht", "s", "100R"),
            two("R4", "k", "chassis", "270R"), can("C1", "k", "chassis", "220µ"), pentode("V1", "a", "s", "g", "k"),
            transformer("T1", "output transformer", ("primary", "5k", "ht", "a"),
                        ("secondary", "8R", "spk", "chassis"))]  # fmt: skip


def tone_stack():
    """Treble, bass and middle between two stages."""
    return [BATTERY, INPUT, OUTPUT, valve("V1", "ht", "in", "k"), two("R1", "k", "chassis", "100k"),
            two("R2", "k", "m", "56k"), two("C1", "k", "t", "250p"), two("C2", "m", "b", "100n"),
            two("C3", "m", "n", "47n"), two("R3", "in", "chassis", "1M"),
            part("RV1", "potentiometer", "top=t wiper=out bottom=b"), part("RV2", "potentiometer",
                                                                           "top=b wiper=n bottom=chassis")]  # fmt: skip


def pi_filter():
    return [*mains(("ht", "250 V", "s.a", "chassis", "s.b")),
            part("V1", "rectifier valve", {"anode_1": "s.a", "anode_2": "s.b", "cathode": "raw"}),
            can("C1", "raw", "chassis", "32µ"), two("L1", "raw", "ht", "10H"),
            can("C2", "ht", "chassis", "32µ"), two("R1", "ht", "chassis", "220k")]  # fmt: skip


def diode_bridge():
    ways = ((1, "s.a", "raw"), (2, "s.b", "raw"), (3, "chassis", "s.a"), (4, "chassis", "s.b"))
    return [*iron(("ht", "250 V", "s.a", "s.b")), can("C1", "raw", "chassis", "47µ"),
            *(part(f"D{n}", "diode", f"anode={a} cathode={c}") for n, a, c in ways),
            two("R1", "raw", "chassis", "220k")]  # fmt: skip


def voltage_doubler():
    return [*iron(("ht", "120 V", "s.a", "mid")), part("D1", "diode", "anode=s.a cathode=raw"),
            part("D2", "diode", "anode=chassis cathode=s.a"), can("C1", "raw", "mid", "100µ"),
            can("C2", "mid", "chassis", "100µ"), two("R1", "raw", "chassis", "220k")]  # fmt: skip


def negative_bias():
    return [*iron(("bias", "50 V", "b", "chassis")), part("D1", "diode", "anode=n.raw cathode=b"),
            can("C1", "chassis", "n.raw", "47µ"), two("R1", "n.raw", "n", "10k"), can("C2", "chassis", "n", "47µ"),
            part("RV1", "potentiometer", "top=n wiper=w bottom=low"), two("R2", "low", "chassis", "22k"),
            two("R3", "w", "g", "220k"), two("C3", "in", "g", "100n"), INPUT, BATTERY,
            pentode("V1", "ht", "ht", "g", "chassis")]  # fmt: skip


def regulated_heaters():
    row = [part(f"V{n}", "triode", {"anode": "ht", "grid": "in", "cathode": "chassis", "heater.1": "h", "heater.2": g})
           for n, g in ((1, "chassis"), (2, "chassis"))]  # fmt: skip
    return [*iron(("low", "9 V", "l.a", "l.b")), part("D1", "bridge", "ac1=l.a ac2=l.b plus=h.raw minus=chassis"),
            can("C1", "h.raw", "chassis", "4700µ"), part("U1", "regulator", "input=h.raw output=h common=chassis"),
            can("C2", "h", "chassis", "10µ"), BATTERY, INPUT, *row]  # fmt: skip


def elevated_heaters():
    tap = [two("R1", "ht", "lift", "220k"), two("R2", "lift", "chassis", "47k"), can("C1", "lift", "chassis", "10µ"),
           two("R3", "h1", "lift", "100R"), two("R4", "h2", "lift", "100R")]  # fmt: skip
    joins = triode("V1", "a", "ht", "in", "k") | triode("V1", "b", "ht", "in", "k")
    joins |= {"heater.1": "h1", "heater.2": "h1", "heater_centre": "h2"}
    return [*iron(("heater", "6.3 V", "h1", "h2")), BATTERY, INPUT, two("R5", "k", "chassis", "22k"), *tap,
            part("V1", "twin triode", joins)]  # fmt: skip


def feedback_pair():
    return [BATTERY, INPUT, OUTPUT, two("R1", "in", "chassis", "1M"), two("R2", "ht", "a1", "100k"),
            two("R3", "k1", "chassis", "1k"), two("C1", "a1", "g2", "100n"), two("R4", "g2", "chassis", "470k"),
            two("R5", "ht", "a2", "47k"), two("R6", "k2", "chassis", "1k"), two("C2", "a2", "out", "1µ"),
            two("R7", "out", "k1", "47k"), valve("V1", "a1", "in", "k1"), valve("V2", "a2", "g2", "k2")]  # fmt: skip


def one_part_to_itself():
    return [two("R1", "x", "x", "1k"), two("R2", "x", "chassis", "1k")]


def parts_in_parallel():
    return [two(f"R{n}", "x", "chassis", "1k") for n in range(1, 5)] + [can("C1", "x", "chassis", "10µ"), BATTERY]


def ends_that_join_nothing():
    return [two("R1", "x", "", "1k"), part("Q1", "npn transistor", {"base": "x", "collector": "", "emitter": "y"}),
            part("RV1", "potentiometer", {"top": "y", "wiper": "", "bottom": ""}),
            part("U1", "op-amp", {"plus_input": "y", "minus_input": "", "output": "x", "plus_supply": "",
                                  "minus_supply": ""})]  # fmt: skip


SMALL = {
    name.replace("_", " "): made
    for name, made in list(globals().items())
    if callable(made) and getattr(made, "__module__", "") == __name__ and name not in ("valve", "pentode", "iron")
}
