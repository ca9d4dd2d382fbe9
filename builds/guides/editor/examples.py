"""Examples beside the editor's fields, in the language of the guide file, which is not translated."""

EXAMPLES = {
    "detail": """\
# Two-ended parts: the points they join. A capacitor's rating in volts, a resistor's in watts.
joins = ["v2.cathode", "chassis"]
power = "3 W"

# A diode or rectifier: which end is where.
type = "1N4007"
joins = { anode = "ht.a", cathode = "ht.rectified" }

# A valve: its type and base, which pin is what, what each joins, and its limits.
type = "EL84"
base = "B9A"
pins = { anode = "7", screen = "9", grid = "2", cathode = "3", heater = ["4", "5"] }
joins = { anode = "v2.anode", screen = "v2.screen", grid = "v2.grid", cathode = "v2.cathode", heater = ["h.a", "h.b"] }
limits = { anode_watts = 12, screen_watts = 2, cathode_milliamps = 65 }

# A transistor, from its data sheet: the threshold, the transconductance at a drain current, and the ratings.
# power is what it may dissipate as mounted in the kit. A bipolar transistor joins its base, collector and emitter;
# its model has the gain, and the base–emitter volts at a collector current in amps.
type = "IRF840"
joins = { gate = "reg.gate", drain = "ht.main", source = "reg.out" }
model = { threshold = 3, transconductance = 4.9, amps = 4.8 }
power = "20 W"
volts = "500 V"

# A three-terminal regulator or an op-amp: its leads' numbers make them probe points, such as U1.3.
joins = { input = "dc.raw", output = "dc.12", common = "chassis" }
pins = { input = "1", common = "2", output = "3" }
model = { dropout = 2, quiescent = 0.005 }
# An op-amp joins plus_input, minus_input, output, plus_supply and minus_supply; its model may have headroom (V) and
# open_loop_gain. A neon lamp's value is its maintaining voltage, model = { strike = 85 }. A thermistor's value is its
# cold resistance, ohms the hot one at amps.

# A transformer: a [[winding]] each. A winding with a tap is two that share the tap's node.
[[winding]]
name = "ht"
volts = "210 V"
amps = "80 mA"
ohms = "110R"
joins = ["ht.a", "chassis"]
""",
    "own_faults": """\
[[fault]]
key = "r8-batch"
words = "R8 is 1.8 kΩ, from the bad batch"
part = "R8"
becomes = "1k8"
# What a part can become. A resistor: a value, "open", "short" or "cold" (a cold joint). A capacitor: "open", "short",
# "leaky".
# A valve: "dead", "weak", "gassy", "heater" or "pin 7 dry". A winding: "ht open".
weight = 4   # how often, beside the usual faults, which have 0.3 to 3
look = "Brown, grey, red instead of brown, green, red."
""",
    "hints": """\
low: R10 is the wrong value, or C9 leaks. Look at both.
high: The EL84 is not in its socket, or R10 is open.
off, then ht-screen: Measure the screen supply next.
""",
}
