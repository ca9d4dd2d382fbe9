"""Findings over builds and correlations in sentences."""

from dataclasses import fields

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.ui.formatting import format_figure, number, signed_number
from builds.ui.formatting import percent as plain_percent
from checks.statistics.agreement import Agreement, Verdict
from checks.statistics.dependence import Circumstance, CircumstanceKind, Dependence, Trend
from checks.statistics.evidence import FEWEST, Reference
from checks.statistics.findings import CheckFinding, Kind

ALMOST_CERTAIN = 0.95  # from which a claim is more than probable


def claim(finding: CheckFinding, agrees: str = "") -> str:
    """What a finding comes to and how sure that is: "The expected value is probably wrong (93 %)". Where the circuit is
    with the guide (`agrees`: which of them agree, a Verdict), builds that read something else are no reason to call its
    figure wrong."""
    if finding.kind == Kind.NOT_ENOUGH:
        return _("Too early to say")
    is_apart = finding.kind == Kind.FIGURE_OFF and agrees == Verdict.BUILDS_APART
    claims = _builds_apart() if is_apart else _claims(finding.kind)
    sentence = claims[finding.probability >= ALMOST_CERTAIN]
    if not finding.each:
        return sentence
    return _("%(claim)s (%(probability)s)") % {"claim": sentence, "probability": percent(finding.probability)}


def _claims(kind: str) -> tuple[str, str]:
    """What is probable, and what is almost certain."""
    return {
        Kind.FITS: (_("The guide is probably right"), _("The guide is almost certainly right")),
        Kind.FIGURE_OFF: (
            _("The expected value is probably wrong"),
            _("The expected value is almost certainly wrong"),
        ),
        Kind.TOO_TIGHT: (_("The band is probably too narrow"), _("The band is almost certainly too narrow")),
        Kind.BATCH: (
            _("The builds probably form two groups"),
            _("The builds almost certainly form two groups"),
        ),
        Kind.SINGLES: (
            _("Individual builds are probably faulty"),
            _("Individual builds are almost certainly faulty"),
        ),
        Kind.UNCLEAR: (
            _("The instructions are probably unclear"),
            _("The instructions are almost certainly unclear"),
        ),
    }[Kind(kind)]


def _builds_apart() -> tuple[str, str]:
    return (
        _("The builds probably differ from the guide and its circuit"),
        _("The builds almost certainly differ from the guide and its circuit"),
    )


def alternatives(finding: CheckFinding) -> str:
    """The less likely explanations: "the guide is right (6 %), two groups of builds (2 %)"; empty where none."""
    return _listed(finding.others)


def _listed(explanations) -> str:
    return ", ".join(
        _("%(explanation)s (%(probability)s)") % {"explanation": _explanation(kind), "probability": percent(p)}
        for kind, p in explanations
    )


def _explanation(kind: str) -> str:
    return {
        Kind.FITS: _("the guide is right"),
        Kind.FIGURE_OFF: _("the expected value is wrong"),
        Kind.TOO_TIGHT: _("the band is too narrow"),
        Kind.BATCH: _("two groups of builds"),
        Kind.SINGLES: _("individual builds are faulty"),
        Kind.SEVERAL: _("most builds are faulty"),
        Kind.UNCLEAR: _("the instructions are unclear"),
    }[Kind(kind)]


def description(finding: CheckFinding) -> str:
    """What the builds read, in a sentence or two."""
    sentences = [_DESCRIPTIONS[Kind(finding.kind)](finding)]
    if finding.over:
        sentences.append(_("Over range: %(over)s of %(n)s.") % {"over": finding.over, "n": finding.n})
    if finding.explained:
        sentences.append(_explained(finding))
    return " ".join(sentences)


def _explained(f: CheckFinding) -> str:
    """A meter, the mains or a rail that is off moves all that a build reads, and is no news on every check."""
    return ngettext(
        "%(explained)s of them is off by about the same amount on all its readings of this kind: "
        "check its meter, the mains voltage noted and the supply it depends on.",
        "%(explained)s of them are off by about the same amount on all their readings of this "
        "kind: check their meters, the mains voltage noted and the supply they depend on.",
        f.explained,
    ) % {"explained": f.explained}


def _not_enough(f: CheckFinding) -> str:
    if f.n < FEWEST:
        return ngettext("Only %(n)s build has a reading here.", "Only %(n)s builds have a reading here.", f.n) % {
            "n": f.n
        }
    return _("%(n)s builds are not enough to decide: %(explanations)s.") % {"n": f.n, "explanations": _listed(f.ahead)}


def _fits(f: CheckFinding) -> str:
    if not f.misses:
        return _("%(n)s builds fit the guide’s band.") % {"n": f.n}
    return _(
        "%(inside)s of %(n)s builds are in the guide’s band, %(misses)s outside it: no reason to change the band."
    ) % {
        "inside": f.n - f.misses,
        "misses": f.misses,
        "n": f.n,
    }


def _figure_off(f: CheckFinding) -> str:
    if f.one_sided or 2 * f.over >= f.n:
        return _("%(n)s builds agree with each other and are past the guide’s limit.") % {"n": f.n}
    distance = distance_to_limit(f.shift)
    if f.reference == Reference.MIDDLE:
        sentence = (
            _("%(n)s builds agree with each other and are above the middle of the band, %(distance)s.")
            if f.shift > 0
            else _("%(n)s builds agree with each other and are below the middle of the band, %(distance)s.")
        )
    else:
        sentence = (
            _("%(n)s builds agree with each other and are above the expected value, %(distance)s.")
            if f.shift > 0
            else _("%(n)s builds agree with each other and are below the expected value, %(distance)s.")
        )
    return sentence % {"n": f.n, "distance": distance}


def _too_tight(f: CheckFinding) -> str:
    if f.one_sided or f.over:
        sentence = _("Good builds read on both sides of the limit: %(misses)s of %(n)s are past it.")
    else:
        sentence = _("Good builds spread further than the band allows: %(misses)s of %(n)s are outside it.")
    return sentence % {"n": f.n, "misses": f.misses}


def _batch(f: CheckFinding) -> str:
    if not f.label:
        return _("%(n)s builds form two groups: look for a batch of parts.") % {"n": f.n}
    return _("%(n)s builds form two groups, which differ by %(what)s.") % {
        "n": f.n,
        "what": circumstance(Circumstance.from_code(f.label)),
    }


def _singles(f: CheckFinding) -> str:
    misses = max(f.misses, 1)
    return ngettext(
        "%(misses)s of %(n)s builds is far off; the others agree with the guide.",
        "%(misses)s of %(n)s builds are far off; the others agree with the guide.",
        misses,
    ) % {"misses": misses, "n": f.n}


def _unclear(f: CheckFinding) -> str:
    return ngettext(
        "%(right)s of %(n)s builds were not in band at first and then were, with %(snags)s snag: "
        "the expected value is right, the instructions are not clear.",
        "%(right)s of %(n)s builds were not in band at first and then were, with %(snags)s snags: "
        "the expected value is right, the instructions are not clear.",
        f.snags,
    ) % {"right": f.came_right, "n": f.n, "snags": f.snags}


_DESCRIPTIONS = {
    Kind.NOT_ENOUGH: _not_enough,
    Kind.FITS: _fits,
    Kind.FIGURE_OFF: _figure_off,
    Kind.TOO_TIGHT: _too_tight,
    Kind.BATCH: _batch,
    Kind.SINGLES: _singles,
    Kind.UNCLEAR: _unclear,
}


def percent(share: float) -> str:
    """A probability as whole per cent; nothing is certain that builds say."""
    if share >= 0.995:
        return _("over 99 %")
    return _("under 1 %") if share < 0.005 else plain_percent(share)


def distance_to_limit(shift: float) -> str:
    """A shift in half-bands (the limit is at 1) as a share or a multiple of the distance to the limit."""
    far = round(abs(shift), 1)
    if far == 1:
        return _("as far from it as the limit")
    sentence = _("%(n)s of the way to the limit") if far < 1 else _("%(n)s times as far from it as the limit")
    return sentence % {"n": number(far, 1)}


def band_widths(shift: float) -> str:
    """A shift in half-bands as band widths, from low to high, with its sign: "+0.90"."""
    return signed_number(shift / 2, 2)


def agreement_sentence(agreement: Agreement, unit: str) -> str:
    """Whether guide, circuit and builds agree, with their figures."""
    params = {
        "guide": format_figure(agreement.guide, unit),
        "circuit": "" if agreement.circuit is None else format_figure(agreement.circuit, unit),
        "builds": "" if agreement.builds is None else format_figure(agreement.builds, unit),
        "n": agreement.n,
    }
    return _agreement(agreement) % params


def _agreement(agreement: Agreement) -> str:
    if agreement.circuit is None:
        return (
            _("The median of %(n)s builds (%(builds)s) agrees with the guide (%(guide)s).")
            if agreement.verdict is Verdict.AGREE
            else _("The median of %(n)s builds (%(builds)s) does not agree with the guide (%(guide)s).")
        )
    if agreement.builds is None:
        return (
            _("The circuit (%(circuit)s) agrees with the guide (%(guide)s).")
            if agreement.verdict is Verdict.AGREE
            else _("The circuit (%(circuit)s) does not agree with the guide (%(guide)s).")
        )
    return {
        Verdict.AGREE: _(
            "The guide (%(guide)s), the circuit (%(circuit)s) and the median of %(n)s builds (%(builds)s) agree."
        ),
        Verdict.GUIDE_APART: _(
            "The circuit (%(circuit)s) and the median of %(n)s builds (%(builds)s) agree with each other and not with "
            "the guide (%(guide)s): look at the guide first."
        ),
        Verdict.CIRCUIT_APART: _(
            "The guide (%(guide)s) and the median of %(n)s builds (%(builds)s) agree with each other and not with the "
            "circuit (%(circuit)s): look at the parts list and the probe points first."
        ),
        Verdict.BUILDS_APART: _(
            "The guide (%(guide)s) and the circuit (%(circuit)s) agree with each other and not with the median of "
            "%(n)s builds (%(builds)s): look at the parts and the instructions first."
        ),
        Verdict.NONE_AGREE: _(
            "The guide (%(guide)s), the circuit (%(circuit)s) and the median of %(n)s builds (%(builds)s) do not agree "
            "with one another."
        ),
    }[agreement.verdict]


def circumstance(what: Circumstance) -> str:
    """What readings may correlate with."""
    refs = ", ".join(what.refs)
    return {
        CircumstanceKind.BUILDER: _("builder"),
        CircumstanceKind.METER: _("meter"),
        CircumstanceKind.MAINS: _("mains voltage"),
        CircumstanceKind.SERIAL: _("serial number"),
        CircumstanceKind.BATCH: _("batch of %(refs)s") % {"refs": refs},
        CircumstanceKind.MAKE: _("make of %(refs)s") % {"refs": refs},
    }[what.kind]


def correlation_sentence(what: Circumstance, dependence: Dependence | Trend, unit: str) -> str:
    """A correlation with the medians of its groups, or with its slope; of a trend that may be reported."""
    if isinstance(dependence, Trend):
        slope = dependence.slope or 0.0
        sentence = (
            _("Readings rise with the serial number, by %(step)s per build.")
            if dependence.tau > 0
            else _("Readings fall with the serial number, by %(step)s per build.")
        )
        return sentence % {"step": format_figure(abs(slope), unit)}
    low, high = dependence.lowest, dependence.highest
    return _(
        "Correlated with the %(what)s: %(low)s for %(low_name)s (%(low_n)s builds), %(high)s for %(high_name)s "
        "(%(high_n)s builds)."
    ) % {
        "what": circumstance(what),
        "low": format_figure(low.median, unit),
        "low_name": low.name,
        "low_n": low.n,
        "high": format_figure(high.median, unit),
        "high_name": high.name,
        "high_n": high.n,
    }


def evidence_sentence(basis: dict) -> str:
    """What a decision rests on, from the figures that it keeps: {"finding", "n", "agreement"}."""
    known = {f.name for f in fields(CheckFinding)}
    finding = CheckFinding(**{name: value for name, value in basis["finding"].items() if name in known})
    sentence = _("%(claim)s. %(words)s (%(n)s builds; their median is off by %(widths)s band widths.)")
    figures = {"n": basis["n"], "widths": band_widths(finding.shift)}
    return sentence % {"claim": claim(finding, basis.get("agreement", "")), "words": description(finding), **figures}
