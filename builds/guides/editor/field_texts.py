"""What the editor's forms say: labels, help, how fields stand together, and examples of what is written as in the guide
file."""

KEY_HELP = (
    "Small letters, digits and hyphens. Readings are kept under it, so leave it as it is from one revision to the next."
)
FIGURE = "With its unit, as in 285 V, 4k7 or 45 mA."

GUIDE_LABELS = {"mains_volts": "Mains voltage", "mains_hertz": "Mains frequency"}
GUIDE_HELP = {
    "mains_volts": "All voltages of the guide hold at this mains; each builder’s are worked out from them.",
    "summary": "What the kit is, in a few lines. Markdown.",
}

STAGE_LABELS = {
    "key": "Short name",
    "intro": "What it is about",
    "minutes": "Minutes it takes",
    "power": "Mains power in this stage",
    "gate": "A gate: the next stage stays shut until its checks are passed",
}
STAGE_HELP = {"key": KEY_HELP, "intro": "Shown above the steps. Markdown."}
STAGE_GROUPS = (("Power", "", ("power", "supply_lamp", "supply_volts", "settings", "not_fitted", "cautions", "gate")),)

STEP_LABELS = {
    "key": "Short name",
    "text": "What to do",
    "hands_in": "Hands go inside the kit",
    "photo": "Photo of the work",
}
STEP_HELP = {
    "key": KEY_HELP,
    "text": "One thing to do, in Markdown: **bold**, *slanting*, lists.",
    "hands_in": "Such as fitting the valves. After any stage with power, the builder must log a made-safe reading first.",
    "photo": "Required: the step cannot be ticked without one.",
}

CHECK_LABELS = {
    "key": "Short name",
    "measure": "What is measured",
    "red": "Red probe on",
    "black": "Black probe on",
    "note": "What to mind while measuring",
    "expected": "Expected",
    "figure_from": "The figure comes from",
    "prototype": "Read on the prototype",
    "band": "Give or take",
    "low": "Or from",
    "high": "Up to",
    "at_least": "Or only: at least",
    "at_most": "Or only: at most",
    "stop_below": "Switch off below",
    "stop_above": "Switch off above",
    "mains_exponent": "How it follows the mains",
    "source_resistance": "Source resistance",
    "through": "Current through",
    "optional": "May be left out: the stage’s gate does not wait for it",
}
CHECK_HELP = {
    "key": KEY_HELP,
    "title": "Such as “V2 pin 3, cathode”.",
    "red": "A socket’s pin (V2.3), a point of the circuit (ht.main), or your own words after an equals sign (=the tag of C1).",
    "black": "As for red. Mostly: chassis.",
    "note": "Such as “Wait a minute until it stands still.” Markdown.",
    "expected": f"{FIGURE} Or “model”: the circuit’s figure.",
    "prototype": "What your own prototype read there, for comparison.",
    "band": "Either side of what is expected: 6% or 10 V.",
    "stop_below": "The page then says Switch off.",
    "stop_above": "For what would harm somebody or a part.",
    "through": "For a current: the resistor across which its voltage is read, such as R10.",
    "source_resistance": "What feeds this point, such as 100k: the meter’s loading is worked out with it. Blank: from the circuit.",
    "mains_exponent": "1: in step with the mains, as most voltages; 0: not at all, as resistances; 1.5: like a triode’s current. "
    "Blank: from the circuit.",
}
CHECK_GROUPS = (
    ("Where the probes go", "", ("red", "black", "picture", "marker", "note")),
    ("Expected", "", ("expected", "figure_from", "prototype")),
    (
        "Band",
        "One way of these: give or take, from and up to, or one limit only.",
        ("band", "low", "high", "at_least", "at_most"),
    ),
    ("Stop limits", "", ("stop_below", "stop_above")),
    ("If it is off", "", ("hints",)),
    ("How it is judged", "All may stay blank.", ("mains_exponent", "source_resistance", "through", "optional")),
)
HINTS_HELP = "One a line, each begun with low:, high: or off: (either way). The builder reads it when a reading is off."

PART_LABELS = {"ref": "Reference", "bag": "In bag", "quantity": "How many"}
PART_HELP = {
    "ref": "As on the drawing, such as R10.",
    "value": "Such as 180R, 4k7, 47u or 500 mA.",
    "tolerance": "5% or -20/+50%.",
}
DETAIL_HELP = (
    "What the circuit needs to know, written as in the guide file, one a line. The examples show what each kind takes."
)

POINT_LABELS = {"node": "Point of the circuit", "words": "Where that is, in words"}
POINT_HELP = {
    "node": "The name that joins use, such as ht.main.",
    "words": "Such as “the red tag of C1, nearest the fuse”.",
}

MARKER_HELP = "How far across and down the picture the point is, as fractions: 0.4, 0.2. Or click on the picture."
FAULTS_HELP = "What you have seen go wrong in this kit. Each begins with [[fault]]; the example shows the rest."

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
joins = { anode = "v2.anode", screen = "v2.screen", grid = "v2.grid", cathode = "v2.cathode", heater = ["heater.a", "heater.b"] }
limits = { anode_watts = 12, screen_watts = 2, cathode_milliamps = 65 }

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


class Grouped:
    """A form whose fields stand in groups: (legend, help, names). A field in no group stands before them."""

    groups: tuple = ()

    def sections(self) -> list[tuple]:
        """[(legend, help, [(bound field, example or "")])], in the order in which they are filled in."""
        grouped = {name for _legend, _help, names in self.groups for name in names}
        rows = [("", "", [name for name in self.fields if name not in grouped]), *self.groups]
        return [
            (legend, words, [(self[name], EXAMPLES.get(name, "")) for name in names]) for legend, words, names in rows
        ]
