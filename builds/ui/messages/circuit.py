"""Sentences for the circuit model's codes: circumstances, assumed tolerances, problems, reasons and notes."""

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from builds.ui.messages.parts_list import circuit_message
from builds.ui.problem_rows import read_error
from checks.circuit.netlist.parameters import Assumed
from checks.circuit.netlist.remark import Remark, RemarkCode
from checks.circuit.netlist.transistors import Figure
from checks.circuit.ratings.circumstances import Circumstance
from checks.circuit.ratings.stop_limits import LimitOf
from checks.errors import ChecksError
from checks.quantity import format_quantity

# What figures of older revisions were computed for, before ratings were judged at the highest mains.
FORMER_BUILDS, FORMER_SWITCH_ON = "97.5 % of builds", "switch-on"


def circumstance_label(code: str) -> str:
    """The head of a column of stresses."""
    return {
        Circumstance.NOMINAL: _("Nominal mains"),
        Circumstance.HIGH_MAINS: _("Highest mains"),
        Circumstance.BUILDS: _("97.5 % of builds at the highest mains"),
        Circumstance.SWITCH_ON: _("97.5 % of builds at switch-on, highest mains"),
        FORMER_BUILDS: _("97.5 % of builds at any mains"),
        FORMER_SWITCH_ON: _("Switch-on, highest mains"),
    }.get(code, code)


def assumed_label(code: str) -> str:
    """What an assumed tolerance is of."""
    return {
        Assumed.VALUE: _("values"),
        Assumed.WINDING_VOLTS: _("winding voltage"),
        Assumed.WINDING_OHMS: _("winding resistance"),
        Assumed.CHOKE_OHMS: _("choke resistance"),
        Assumed.FUSE_OHMS: _("fuse resistance"),
        Assumed.LAMP_OHMS: _("lamp resistance"),
        Assumed.LEAKAGE: _("leakage current"),
        Assumed.DIODE_DROP: _("forward voltage"),
        Assumed.VALVE_CURRENT: pgettext("tolerance", "anode current"),
        Assumed.SCREEN_CURRENT: pgettext("tolerance", "screen current"),
        Assumed.RECTIFIER_CURRENT: _("rectifier valve current"),
        Assumed.HEATER_CURRENT: _("heater current"),
        Assumed.CONTACT_POTENTIAL: _("grid contact potential"),
        Assumed.CAPACITANCE: _("capacitance"),
        Assumed.INDUCTANCE: _("inductance"),
        Assumed.VALVE_CAPACITANCES: _("valve capacitances"),
        Assumed.AMPLIFICATION: _("amplification factor"),
        Assumed.THERMISTOR_OHMS: _("thermistor resistance"),
        Assumed.OFFSET: _("op-amp input offset"),
        Assumed.THRESHOLD: _("threshold voltage"),
        Assumed.TRANSCONDUCTANCE: _("transconductance"),
        Assumed.CURRENT_GAIN: _("current gain"),
        Assumed.BASE_VOLTS: _("base–emitter voltage"),
    }[Assumed(code)]


def assumed_figure_label(code: str) -> str:
    """Which figure of a data sheet is assumed."""
    return {
        Figure.THRESHOLD: _("threshold voltage"),
        Figure.TRANSCONDUCTANCE: _("transconductance at 0.5 A"),
        Figure.GAIN: _("current gain"),
        Figure.VOLTS: _("base–emitter voltage at 5 mA"),
        Figure.DROPOUT: _("dropout voltage"),
        Figure.QUIESCENT: _("quiescent current"),
        Figure.OHMS: _("internal resistance"),
        Figure.HEADROOM: _("headroom to the supplies"),
        Figure.OPEN_LOOP_GAIN: _("open-loop gain"),
        Figure.BANDWIDTH: _("gain–bandwidth product"),
        Figure.REGULATION: _("transformer regulation, for ratings only"),
    }[Figure(code)]


def assumed_range(row: dict) -> str:
    """The range of an assumed tolerance: a share, or volts for a contact potential."""
    if Assumed(row["of"]) is Assumed.CONTACT_POTENTIAL:
        return _("±%(volts).1f V") % {"volts": row["plus"]}
    if Assumed(row["of"]) is Assumed.OFFSET:
        return _("±%(millivolts).0f mV") % {"millivolts": 1e3 * row["plus"]}
    if row["minus"] == row["plus"]:
        return _("±%(percent).0f %%") % {"percent": 100 * row["plus"]}
    return _("−%(minus).0f/+%(plus).0f %%") % {"minus": 100 * row["minus"], "plus": 100 * row["plus"]}


def limit_source(of: str, ref: str) -> str:
    """Which part's rating sets a stop limit."""
    return {
        LimitOf.CAPACITOR_VOLTS: _("the rated voltage of %(part)s"),
        LimitOf.ANODE_VOLTS: _("the anode voltage limit of %(part)s"),
        LimitOf.SCREEN_VOLTS: _("the screen voltage limit of %(part)s"),
        LimitOf.DISSIPATION: _("the power rating of %(part)s"),
        LimitOf.CATHODE_CURRENT: _("the cathode current limit of %(part)s"),
        LimitOf.VALVE_DISSIPATION: _("the power rating of %(part)s"),
        LimitOf.HEATER_VOLTS: _("the heater voltage of %(part)s, plus 25 %%"),
        LimitOf.WINDING_VOLTS: _("the winding voltage of %(part)s, plus 40 %%"),
        LimitOf.TOUCH: _("the touch limit, at a point for signals"),
    }[LimitOf(of)] % {"part": ref}


_CODES = frozenset(code.value for code in RemarkCode)


def _refs(refs) -> str:
    return ", ".join(refs) if isinstance(refs, list | tuple) else str(refs).replace("+", ", ")


def _volts(value: float) -> str:
    return format_quantity(value, "V", 2)


_REMARKS = {
    RemarkCode.CHOKE_INPUT: lambda p: _(
        "The supply after %(refs)s is not calculated: the choke %(choke)s comes before its first reservoir capacitor, "
        "and not directly after a full-wave rectifier. Only a closed switch or a link may lie between them: put "
        "anything else after the first capacitor."
    ),
    RemarkCode.CHOKE_RIPPLE: lambda p: _("The ripple between %(refs)s and its choke is not calculated."),
    RemarkCode.BELOW_CRITICAL: lambda p: _(
        "The choke %(choke)s carries %(milliamps).0f mA. Below its critical current of "
        "%(critical).0f mA the voltage after %(refs)s rises (to %(peak).0f V with no load), and "
        "no figure is given."
    ),
    RemarkCode.NO_RESERVOIR: lambda p: _(
        "The supply after %(refs)s is not calculated: no reservoir capacitor completes its path back to the winding."
    ),
    RemarkCode.FED_WITH_AC: lambda p: _("%(refs)s is fed with AC. That is not calculated."),
    RemarkCode.FED_THROUGH_CAPACITOR: lambda p: _(
        "%(refs)s is fed with AC through %(capacitor)s, as in a tripler or a longer multiplier. "
        "That is not calculated; half-wave doublers and bias supplies through one capacitor are."
    ),
    RemarkCode.BEHIND_CAPACITOR: lambda p: _(
        "The voltage between %(refs)s and its capacitor is mostly AC and is not calculated."
    ),
    RemarkCode.BACK_TO_BACK: lambda p: _(
        "%(ref)s is joined back to back with %(other)s: one winding is connected across the "
        "other. That is not calculated."
    ),
    RemarkCode.OTHER_MAINS: lambda p: _(
        "The primary of %(ref)s is for %(rated)g V, but the mains is %(mains)g V. "
        "Nothing is calculated on the wrong mains."
    ),
    RemarkCode.MAINS_LEAD_BRANCHES: lambda p: _(
        "The path from the mains to %(ref)s is not calculated: it branches at %(parts)s."
    ),
    RemarkCode.MAINS_LEAD_PART: lambda p: _(
        "The path from the mains to %(ref)s is not calculated: it goes through %(part)s. Enter a "
        "series lamp as the supply of the stage."
    ),
    RemarkCode.NOT_ELECTRICAL: lambda p: _("The circuit model has no figure for a %(measure)s."),
    RemarkCode.PLACE_IN_WORDS: lambda p: _("The position of a probe is described in words, not as a node."),
    RemarkCode.POWER_IS_ON: lambda p: _("Resistance is measured with the power off."),
    RemarkCode.POWER_IS_OFF: lambda p: _("The power is off."),
    RemarkCode.NOT_JOINED: lambda p: _("Nothing joins %(red)s and %(black)s."),
    RemarkCode.NO_DC_PATH: lambda p: _("There is no DC path from %(point)s to the chassis."),
    RemarkCode.NOTHING_HOLDS: lambda p: _(
        "The voltage at %(point)s is undefined: no part that passes current joins it to the chassis."
    ),
    RemarkCode.OPEN: lambda p: _("Open circuit: nothing joins the two points."),
    RemarkCode.SIGNAL_CLIPS: lambda p: _(
        "At an input of %(level)s, %(ref)s clips, so no figure is given. It stays linear up to about %(most)s "
        "(an estimate)."
    ),
    RemarkCode.SIGNAL_ONLY: lambda p: _("Without a signal there is no AC voltage here."),
    RemarkCode.NOT_SETTLED: lambda p: _("The calculation does not settle."),
    RemarkCode.NO_MAINS: lambda p: _("%(part)s is not fitted: no mains reaches %(ref)s."),
    RemarkCode.LOAD_LEFT_OUT: lambda p: _(
        "The load of %(refs)s on the mains transformer is left out: its other windings read a little lower than this."
    ),
    RemarkCode.HEATER_COOL: lambda p: _(
        "The heater of %(ref)s gets %(volts).1f V of its %(rated)g V: the valve passes less "
        "current than calculated here."
    ),
    RemarkCode.HEATER_HOT: lambda p: _(
        "The heater of %(ref)s gets %(volts).1f V but is rated for %(rated)g V: that wears it out."
    ),
    RemarkCode.REGULATOR_OFF: lambda p: _(
        "Regulator %(ref)s does not regulate: its output is %(volts).4g V instead of %(rated).4g V. It is the "
        "wrong way round, or its input is too low."
    ),
    RemarkCode.ZENER_FORWARD: lambda p: _(
        "%(ref)s conducts forwards, as a plain diode does: its anode and cathode are the wrong way round."
    ),
    RemarkCode.MOSFET_BACKWARDS: lambda p: _(
        "Current flows backwards through %(ref)s: its drain and source are swapped, or it has the opposite "
        "channel. This is correct only for protection against a reversed supply."
    ),
    RemarkCode.TRANSISTOR_TURNED: lambda p: _(
        "%(ref)s is fed backwards: its collector and emitter are swapped, or it has the opposite polarity."
    ),
    RemarkCode.IDLE_LAMP: lambda p: _(
        "The transformer’s magnetising current is left out. With so little load on the lamp, its windings read some "
        "volts lower than calculated here."
    ),
    RemarkCode.NO_FULL_POWER: lambda p: _("No stage has the power on at full mains."),
}


def remark_sentence(row) -> str:
    """The sentence of a remark or problem as kept; figures of older revisions keep the sentence they were made with."""
    if not isinstance(row, dict):
        return str(row or "")
    if "because" in row["params"]:
        return _("Not calculated: %(problem)s") % {"problem": remark_sentence(row["params"]["because"])}
    if row["code"] not in _CODES:
        return circuit_message(read_error(row))
    params = {name: _volts(value) if name in ("level", "most") else value for name, value in row["params"].items()}
    params = {name: _refs(value) if name in ("refs", "parts") else value for name, value in params.items()}
    return _REMARKS[RemarkCode(row["code"])](params) % params


def no_figure_sentence(why: Remark | ChecksError) -> str:
    """Why a fault's circuit gives no figure."""
    return circuit_message(why) if isinstance(why, ChecksError) else remark_sentence(why.as_dict())


def heater_warning(ref: str, volts: float, rated: float) -> str:
    """A heater more than a tenth off its rating."""
    return _("The heater of %(ref)s gets %(volts).1f V but is rated for %(rated)g V: more than 10 %% off.") % {
        "ref": ref,
        "volts": volts,
        "rated": rated,
    }
