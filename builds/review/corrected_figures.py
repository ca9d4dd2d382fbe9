"""The figures that an erratum may give a check: the same fields and the same rules as in the editor and the guide file,
and the same objections as when a guide is issued."""

import math
from dataclasses import dataclass

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.guides.corrected import guide_with, list_figures
from builds.guides.editor.field_texts import CHECK_HELP, CHECK_LABELS
from builds.guides.figures import band_for
from builds.guides.guide_cache import FIGURE_FIELDS
from builds.guides.guide_file import shape
from builds.guides.guide_file.figure_rules import check_rules
from builds.guides.models import Check, Revision
from builds.guides.objection_texts import objection_sentence
from builds.guides.objections import Level, Objection, objections_to
from checks.band import Band

STOPS = ("stop_below", "stop_above")
BAND = tuple(name for name in FIGURE_FIELDS if name not in STOPS)


@dataclass(frozen=True)
class Correction:
    """Figures that may be published, with what they are published over."""

    figures: dict[str, str]
    reason: str
    objections: list[dict]


class CorrectedFiguresForm(forms.Form):
    """Part of the form of an erratum. Expected value and band are replaced together; a stop limit that is left blank
    stays as it is, so that none is ever lost by leaving a field blank."""

    reason = forms.CharField(
        label=gettext_lazy("Reason, if the new figures are wider or there are objections to them"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("It is saved with the erratum."),
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        reason = self.fields.pop("reason")
        for name in FIGURE_FIELDS:
            self.fields[name] = forms.CharField(
                max_length=30,
                required=False,
                label=CHECK_LABELS[name],
                help_text=_HELP.get(name, CHECK_HELP.get(name, "")),
            )
        self.fields["reason"] = reason

    @property
    def figure_fields(self) -> list:
        return [self[name] for name in (*FIGURE_FIELDS, "reason")]

    @property
    def other_fields(self) -> list:
        return [field for field in self.visible_fields() if field.name not in (*FIGURE_FIELDS, "reason")]

    @property
    def has_figures(self) -> bool:
        """Were figures typed, so that their fields stand open?"""
        return any(self[name].value() for name in (*FIGURE_FIELDS, "reason"))

    def typed_figures(self) -> dict[str, str]:
        return {name: text for name in FIGURE_FIELDS if (text := (self.cleaned_data.get(name) or "").strip())}

    def find_correction(self, revision: Revision, check: Check | None, is_again: bool) -> Correction | None:
        """What may be published, None where no figure was typed or it may not be; the errors are added to the form.
        `is_again`: was this entry sent before, so that its figures may hold already?"""
        typed = self.typed_figures()
        if not typed:
            return None
        if check is None:
            self.add_error("about", _("Figures belong to a check: choose the check that they correct."))
            return None
        before = list_figures(check)
        figures = _merged(before, typed)
        if figures == before and not is_again:
            self.add_error(next(iter(typed)), _("The check already has these figures."))
        for key, message in broken_rules(check, figures):
            self.add_error(key if key in FIGURE_FIELDS else None, message)
        return None if self.errors else self._unless_objected(revision, check, figures)

    def _unless_objected(self, revision, check, figures) -> Correction | None:
        guide, own = guide_with(revision, check, figures)
        band = band_for(own)
        if band is None:
            self.add_error("expected", _("These figures give no band to judge a reading by. Give a figure and a band."))
            return None
        stood = _serious(revision, guide_with(revision, check, list_figures(check))[0], check)
        objections = [o for o in _serious(revision, guide, check) if o not in stood]
        sentences = [objection_sentence(o.code, o.params) for o in objections]
        if any(o.level is Level.BLOCKS for o in objections):
            self.add_error(None, " ".join(sentences))
            return None
        loosened = list_widened_limits(band_for(check), band)
        reason = (self.cleaned_data.get("reason") or "").strip()
        if (sentences or loosened) and not reason:
            why = _("Give your reason for publishing these figures:")
            self.add_error("reason", " ".join([*loosened, *sentences, why]))
            return None
        return Correction(figures, reason, [_kept(o) for o in objections])


_HELP = {
    "stop_below": gettext_lazy("Blank: as it is now."),
    "stop_above": gettext_lazy("Blank: as it is now."),
}


def _merged(before: dict[str, str], typed: dict[str, str]) -> dict[str, str]:
    band = {name: typed.get(name, "") for name in BAND} if any(name in typed for name in BAND) else {}
    return before | band | {name: typed[name] for name in STOPS if name in typed}


def broken_rules(check: Check, figures: dict[str, str]):
    """What the editor and the guide file would refuse of the check with these figures."""
    row = {key: getattr(check, key) for key in shape.CHECK if key not in ("hint", *FIGURE_FIELDS)}
    return [*check_rules(shape.without_defaults("check", row | figures) | {"measure": check.measure})]


def _serious(revision: Revision, guide, check: Check) -> list[Objection]:
    """What would keep a guide from being issued without a reason, of one check."""
    return [o for o in objections_to(revision, guide) if o.row == ("check", check.pk) and o.level is not Level.SHOWN]


def _kept(objection: Objection) -> dict:
    return objection.as_dict()


def list_widened_limits(before: Band | None, after: Band) -> list[str]:
    """In sentences: where a reading that was out would pass now, or one that stopped would not."""
    if before is None:
        return [_("The check has no band so far.")]
    says = []
    if _reaches_farther(_lets_in(before), _lets_in(after)):
        says.append(_("The band is wider than before on at least one side."))
    if _reaches_farther(_stops_at(before), _stops_at(after)):
        says.append(_("A stop limit is farther out than before."))
    return says


def _lets_in(band: Band) -> tuple[float | None, float | None]:
    """Lower and upper end of what is in band: of an upper limit alone, above zero, the size counts."""
    return (-band.high if band.by_size and band.high else band.low), band.high


def _stops_at(band: Band) -> tuple[float | None, float | None]:
    """Beyond which readings stop, below and above: with the probes swapped too, where the band says so."""
    lower = [] if band.stop_below is None else [band.stop_below]
    upper = [] if band.stop_above is None else [band.stop_above]
    if band.stop_above is not None and band.is_swapped_stop(-math.inf):
        lower.append(-band.stop_above)
    if band.stop_below is not None and band.is_swapped_stop_below(math.inf):
        upper.append(-band.stop_below)
    return max(lower, default=None), min(upper, default=None)


def _reaches_farther(before: tuple[float | None, float | None], after: tuple[float | None, float | None]) -> bool:
    return _is_farther(before[0], after[0], -1) or _is_farther(before[1], after[1], 1)


def _is_farther(before: float | None, after: float | None, sign: int) -> bool:
    if before is None:
        return False
    return after is None or sign * (after - before) > 1e-9 * abs(before)
