"""What the valves of a build make of the guide's figures: for the pages of valves, and the packing slip."""

from dataclasses import dataclass

from builds.bench.valves.as_fitted import UNMOVED, as_fitted
from builds.guides.figures import band_for
from builds.guides.guide_cache import load_guide
from builds.guides.models import Check
from builds.ui.formatting import format_figure, percent
from builds.ui.messages import bench as texts
from checks.band import Band

SAME = 0.03  # of a band’s width: less is left of how it was drawn


@dataclass(frozen=True)
class Followed:
    """A check whose figures follow the valves of a build; `own` is None where the circuit cannot tell."""

    check: Check
    guide: Band
    own: Band | None

    @property
    def width(self) -> float | None:
        """This build's band over the guide's."""
        before, after = _width(self.guide), _width(self.own)
        return after / before if before and after else None

    @property
    def width_percent(self) -> str:
        return "" if self.width is None else percent(self.width)

    @property
    def guide_expected(self) -> str:
        return _figure(self.guide.expected, self.check.unit)

    @property
    def own_expected(self) -> str:
        return _figure(self.own.expected if self.own else None, self.check.unit)

    @property
    def guide_limits(self) -> str:
        return _limits(self.guide, self.check.unit)

    @property
    def own_limits(self) -> str:
        return _limits(self.own, self.check.unit)


def list_followed(build) -> list[Followed]:
    """The checks whose expected value or band is not the guide's; empty while figures are being worked out."""
    if not build.own_valves or build.valve_figures_id is None:
        return []
    checks = (check for stage in load_guide(build.revision).stages for check in stage.checks.all())
    rows = [Followed(check, band, as_fitted(build, check).band) for check in checks if (band := band_for(check))]
    return [row for row in rows if _differs(row)]


def _differs(row: Followed) -> bool:
    if row.own is None:
        return True
    if row.width is not None and abs(row.width - 1) > SAME:
        return True
    pairs = [(getattr(row.guide, name), getattr(row.own, name)) for name in ("expected", "low", "high")]
    return any(before and after is not None and abs(after / before - 1) > UNMOVED for before, after in pairs)


def _width(band: Band | None) -> float | None:
    return band.high - band.low if band and band.low is not None and band.high is not None else None


def _figure(value: float | None, unit: str) -> str:
    return "" if value is None else format_figure(value, unit)


def _limits(band: Band | None, unit: str) -> str:
    if band is None:
        return ""
    return texts.limits(*(None if end is None else format_figure(end, unit) for end in (band.low, band.high)))
