"""What is planted in the demo programme: who gets how far, with which faults, deviations and snags."""

from checks.diagnosis.fault import Fault, Move

# (mains nominal, line as measured or None, meter preset, how many of the nine stages are done)
PLAN = (
    (230, 231, "handheld", 9),
    (230, 236, "handheld", 9),
    (230, 229, "basic", 6),
    (240, 244, "handheld", 9),
    (230, 211, "handheld", 8),
    (230, None, "basic", 7),
    (120, 121, "handheld", 9),
    (230, 233, "handheld", 9),
    (230, 238, "handheld", 8),
    (230, 230, "handheld", 7),
    (220, 222, "analogue", 4),
    (230, None, "handheld", 0),
)
PLAN_B = (
    (230, 232, "handheld", 9),
    (230, 228, "handheld", 9),
    (230, 236, "basic", 9),
    (240, 243, "handheld", 9),
    (230, 230, "handheld", 6),
)
# Up to what frequency these builders' manuals state AC volts, where that is not what their kind of meter usually has.
AC_HERTZ = {"handheld": 20e3}
C9_TEXT = (
    "R10 and C9 from V2 **pin 3** to the bus. C9's **plus** (the long lead, away from the stripe) "
    "is soldered to pin 3; its "
    "striped end goes to the bus."
)
ONE_SIDED = {
    "earth-bond": 0.12,
    "heater-a": 0.1,
    "heater-b": 0.1,
    "output-ohms": 0.7,
    "no-short": 99e3,
    "s-hum": 0.006,
    "s-temp": 48.0,
    "final-earth": 0.13,
    "primary-ohms": 28.0,
    "p-v2-2": 0.02,
    "v-v2-2": 0.03,
}
BATCH = {7, 8, 9, 10}
BATCH_FAULT = Fault(
    "batch",
    "R8 and R11 from a bad batch",
    "batch",
    ("R8", "R11"),
    1.0,
    (Move("R8", "value", 1.2), Move("R11", "value", 1.2)),
)
ALONE = {"r8-alone": 1.2}  # read before fitting, so not from the circuit
WORN_RESERVOIR, TIRED_VALVE = 5, 9  # builds that hum at 2f, and that give less power with more second harmonic
READS = {(WORN_RESERVOIR, "s-hum"): 0.0179, (TIRED_VALVE, "s-output"): 4.75}  # what these show on a meter
RECORDED = tuple(
    f"FW-{number:03d}" for number in (1, 2, 4, 5, 8, 9, 13, 14, 15, 16)
)  # whose builders have a sound card
FAULTS = {3: "F2 blown", 5: "C1 open", 6: "V2 gassy"}  # of the kit's list; 3 and 6 are stuck with theirs
# build -> {check: [attempts that were wrong first]}
SINGLE = {
    3: {"heater-chassis": ["100.2"]},
    2: {"v-v2-3": ["0.4 V"]},
    4: {"v-v2-3": ["15.2 V"]},
    8: {"o-v2-3": ["92"]},
    9: {"o-v2-3": ["95"]},
}
STUCK = {3: "p-reservoir", 6: "v-v2-3"}
SEVERE = {
    (4, "v-v2-3"): "danger",
    (3, "p-reservoir"): "stopped",
    (8, "r10c9"): "stopped",
    (11, "c1"): "cosmetic",
}  # the rest slowed
SNAGS = (
    (
        2,
        "signal-board",
        "r10c9",
        "",
        "words",
        "“C9 + goes to the bus end of the pin”: which end is that? I had it backwards.",
    ),
    (4, "signal-board", "r10c9", "", "words", "C9: is + at pin 3 or at the bus? The sentence says both."),
    (8, "signal-board", "r10c9", "", "words", "I fitted C9 the wrong way round because of this step."),
    (
        1,
        "valves-in",
        "",
        "v-preamp",
        "reading",
        "Everything else is right but this one reads 230 V. A slip in the table?",
    ),
    (7, "unpack", "", "r8-alone", "part", "R8 and R11 are marked brown grey red: 1.8 kilohm, not 1.5."),
    (3, "first-power", "", "p-reservoir", "reading", "No B+ at all. F2 is whole."),
    (
        4,
        "valves-in",
        "",
        "v-v2-3",
        "reading",
        "The EL84's anode began to glow red. I switched off at once. C9 was in backwards.",
    ),
    (11, "supply", "c1", "", "fit", "C1 is 2 mm too fat for its clip."),
)
