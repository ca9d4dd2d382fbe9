"""What the builder's mains means for their readings."""

from django.utils.translation import gettext as _

from builds.ui.formatting import number
from checks.mains import HertzRemark, LineRemark, find_supply, remark_on_hertz, remark_on_line


def line_text(nominal_volts: float, volts: float) -> str:
    """What to make of a line reading outside the range of its outlet; empty inside it."""
    remark = remark_on_line(nominal_volts, volts)
    if remark is None:
        return ""
    supply = find_supply(nominal_volts)
    params = {
        "volts": number(volts, 0 if volts == round(volts) else 1),
        "low": number(supply.outlet_low),
        "high": number(supply.high),
        "nominal": supply.nominal,
    }
    if remark is LineRemark.DIP:
        return (
            _(
                "%(volts)s V is outside the %(low)s V to %(high)s V permitted at a %(nominal)s V outlet. "
                "A dip this deep is allowed only for a short time. Your readings are judged at %(low)s V."
            )
            % params
        )
    return (
        _(
            "%(volts)s V is outside the %(low)s V to %(high)s V permitted at a %(nominal)s V outlet. "
            "Check the plug-in meter, and that your sockets are %(nominal)s V."
        )
        % params
    )


def other_supply_text(nominal_volts: float, volts: float) -> str:
    return _(
        "Do not plug the kit in. %(volts)s V is too much for it: this build is set up for %(nominal)s V mains. Check "
        "the plug-in meter, and which mains the transformer’s primary is wired for."
    ) % {"volts": number(volts, 0 if volts == round(volts) else 1), "nominal": number(nominal_volts)}


def hertz_text(kit_hertz: int, hertz: int) -> str:
    """What changes when a kit for one mains frequency is used on the other; empty when it is the same."""
    remark = remark_on_hertz(kit_hertz, hertz)
    return _HERTZ[remark]() if remark else ""


_HERTZ = {
    HertzRemark.HIGHER: lambda: _(
        "This kit’s figures are for 50 Hz. At your 60 Hz the transformer runs a little cooler; ripple and hum are "
        "about a sixth lower and are at 60 Hz and 120 Hz. DC readings hardly change."
    ),
    HertzRemark.LOWER: lambda: _(
        "Before you switch on, ask the designer whether the transformer is made for 50 Hz. This kit’s figures "
        "are for 60 Hz. At your 50 Hz the flux in its core is a fifth higher, so it runs hotter, and ripple is a "
        "fifth higher."
    ),
}
