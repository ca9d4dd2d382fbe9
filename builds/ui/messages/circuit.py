"""Sentences for the circuit model's codes: circumstances, assumed tolerances, problems, reasons and notes."""

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from checks.circuit.netlist.parameters import Assumed
from checks.circuit.ratings.circumstances import Circumstance
from checks.circuit.ratings.stop_limits import LimitOf

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
    }[Assumed(code)]


def assumed_range(row: dict) -> str:
    """The range of an assumed tolerance: a share, or volts for a contact potential."""
    if Assumed(row["of"]) is Assumed.CONTACT_POTENTIAL:
        return _("±%(volts).1f V") % {"volts": row["plus"]}
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
        LimitOf.HEATER_VOLTS: _("the heater voltage of %(part)s, plus 25 %%"),
    }[LimitOf(of)] % {"part": ref}
