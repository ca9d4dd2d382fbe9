"""Fields of a part beside its columns: ratings, valve or transistor, wiring, windings."""

from django import forms
from django.utils.translation import gettext_lazy as _

from builds.guides.editor.table_field import Column, TableField
from builds.guides.wiring.ends import HEATERS
from builds.ui.drawings.socket import BASES
from checks.circuit.netlist.terminals import EXTRA, LISTED, NAMED, SECTIONS

LIMITS = (
    ("anode_watts", _("Anode dissipation, W")),
    ("anode_volts", _("Anode voltage, V")),
    ("screen_watts", _("Screen dissipation, W")),
    ("screen_volts", _("Screen voltage, V")),
    ("cathode_milliamps", _("Cathode current, mA")),
    ("mean_milliamps", _("Rectifier mean current, mA")),
    ("peak_inverse_volts", _("Peak inverse voltage, V")),
    ("heater_volts", _("Heater voltage, V")),
    ("heater_amps", _("Heater current, A")),
    ("heater_centre", _("Heater has a centre pin: 1 for yes")),
    ("heater_cathode_volts", _("Heater to cathode, V")),
    ("heater_leakage_microamps", _("Heater leakage, µA")),
    ("grid_anode_picofarads", _("Grid to anode, pF")),
    ("grid_cathode_picofarads", _("Grid to cathode, pF")),
    ("anode_cathode_picofarads", _("Anode to cathode, pF")),
    ("gate_volts", _("Gate voltage, V")),
    ("system", _("Rating system (IEC 60134), such as design maximum")),
)
MODEL = (
    ("mu", _("Triode or pentode: mu")),
    ("ex", _("Triode or pentode: ex")),
    ("kg1", _("Triode or pentode: kg1")),
    ("kp", _("Triode or pentode: kp")),
    ("kvb", _("Triode or pentode: kvb")),
    ("vct", _("Triode: vct")),
    ("kg2", _("Pentode: kg2")),
    ("exs", _("Pentode: exs")),
    ("fall", _("Pentode: fall")),
    ("perveance", _("Rectifier valve: perveance, A/V^1.5")),
    ("volts", _("Forward drop, V")),
    ("amps", _("Current at the forward drop, A")),
    ("threshold", _("MOSFET: threshold, V")),
    ("transconductance", _("MOSFET: transconductance, A/V")),
    ("gain", _("Bipolar transistor: current gain")),
    ("dropout", _("Regulator: dropout, V")),
    ("quiescent", _("Regulator or op-amp: quiescent current, A")),
    ("headroom", _("Op-amp: headroom, V")),
    ("open_loop_gain", _("Op-amp: open-loop gain")),
    ("bandwidth", _("Op-amp: gain-bandwidth product, Hz")),
    ("strike", _("Neon lamp: striking voltage, V")),
)


def _terminals() -> tuple[str, ...]:
    named = [name for names in (*LISTED.values(), *NAMED.values()) for name in names]
    for kind, sections in SECTIONS.items():
        for section, names in sections.items():
            named += [f"{section}.{name}" if section else name for name in (*names, *EXTRA[kind])]
    return tuple(dict.fromkeys([*named, *HEATERS]))


class PartFields(forms.Form):
    """What `part_detail` reads and writes. The form it is mixed into has the part as its instance."""

    power = forms.CharField(required=False, max_length=20, label=_("Power"), help_text=_("For example 3 W."))
    volts = forms.CharField(required=False, max_length=20, label=_("Voltage"), help_text=_("For example 450 V."))
    amps = forms.CharField(required=False, max_length=20, label=_("Current"), help_text=_("For example 80 mA."))
    ohms = forms.CharField(
        required=False,
        max_length=20,
        label=_("Resistance"),
        help_text=_("For a choke, a lamp or a supply, or the resistance when hot."),
    )
    ohms_tolerance = forms.CharField(required=False, max_length=20, label=_("Tolerance of the resistance"))
    leakage = forms.CharField(
        required=False,
        max_length=20,
        label=_("Leakage"),
        help_text=_("For a capacitor at its rated voltage, such as 20 uA."),
    )
    regulation = forms.CharField(
        required=False,
        max_length=20,
        label=_("Regulation"),
        help_text=_("For a transformer, such as 8%. Enter 0% if its voltages are no-load voltages."),
    )
    type = forms.CharField(required=False, max_length=40, label=_("Type"), help_text=_("For example EL84 or 1N4007."))
    base = forms.ChoiceField(required=False, label=_("Base"), choices=[("", "—"), *((b, b) for b in BASES)])
    alternatives = TableField(
        columns=(
            Column("type", _("Type")),
            Column("note", _("Note"), is_wide=True),
            Column("figures", _("Data of this type"), is_wide=True),
        ),
        spare=1,
        label=_("Permitted alternatives"),
        help_text=_(
            "Other types that may be fitted in this socket. Expected values and bands are worked out for the type "
            "that is fitted. A type that is not in the valve library needs its own figures, such as heater_volts "
            "6.3; heater_amps 0.3."
        ),
    )
    limits = TableField(
        columns=(Column("name", _("Limit"), LIMITS), Column("value", _("Value"))),
        label=_("Limits"),
        help_text=_("Leave blank to use the limits in the valve library."),
    )
    model = TableField(
        columns=(Column("name", _("Figure"), MODEL), Column("value", _("Value"))),
        label=_("Data-sheet figures"),
        help_text=_("Needed only for a type that is not in the library."),
    )
    setting = forms.FloatField(
        required=False,
        min_value=0,
        max_value=1,
        label=_("Setting of the control"),
        help_text=_("1 is fully up, 0 is fully down. Blank: half-way."),
    )
    open_when_off = forms.BooleanField(required=False, label=_("Open while the power is off"))
    ends = TableField(
        columns=(
            Column("terminal", _("Terminal"), suggestions=_terminals()),
            Column("pin", _("Pin")),
            Column("point", _("Point in the circuit")),
        ),
        label=_("Wiring"),
        help_text=_(
            "The point that each terminal joins, such as v2.cathode or chassis. To wire all parts at once, use the "
            "wiring table."
        ),
    )
    windings = TableField(
        columns=(
            Column("name", _("Winding")),
            Column("joins", _("Ends, separated by commas"), is_wide=True),
            Column("volts", _("Voltage")),
            Column("tolerance", _("Tolerance")),
            Column("amps", _("Current")),
            Column("ohms", _("Resistance")),
            Column("ohms_tolerance", _("Its tolerance")),
            Column("impedance", _("Impedance")),
            Column("inductance", _("Inductance")),
            Column("leakage_inductance", _("Leakage inductance")),
        ),
        spare=1,
        label=_("Windings"),
        help_text=_("Two ends, or end, centre and end: ht.a, chassis, ht.b. The primary is named primary."),
    )


GROUPS = (
    (_("Ratings"), "", ("power", "volts", "amps", "ohms", "ohms_tolerance", "leakage", "regulation")),
    (_("Valve, transistor or diode"), "", ("type", "base", "alternatives", "limits", "model")),
    (_("Control or switch"), "", ("setting", "open_when_off")),
    (_("Wiring"), "", ("ends",)),
    (_("Transformer"), "", ("windings",)),
)
FIELDS = tuple(name for _legend, _words, names in GROUPS for name in names)
KEYS = {"joins": "ends", "pins": "ends", "winding": "windings"}  # key of the guide file -> field
