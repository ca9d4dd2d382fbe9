"""Figures in words, as every paper says them."""
from checks.quantity import format_quantity


def limits_words(low, high, unit) -> str:
    """A band in words: both limits, or at least, or at most."""
    if low is not None and high is not None:
        return f"{format_quantity(low, unit)} – {format_quantity(high, unit)}"
    if low is not None:
        return f"at least {format_quantity(low, unit)}"
    return f"at most {format_quantity(high, unit)}" if high is not None else "–"


def band_words(band, unit) -> str:
    """The guide's figure and band in words; "–" where it gives none."""
    if band is None:
        return "–"
    limits = limits_words(band.low, band.high, unit)
    return limits if band.expected is None else f"{format_quantity(band.expected, unit)}, band {limits}"


def interval_words(share) -> str:
    """A share with its interval: "93 % of 412 (90 % to 95 %)"; "–" where nothing was counted."""
    if not share.n:
        return "–"
    return f"{share.share:.0%} of {share.n} ({share.low:.0%} to {share.high:.0%})".replace("%", " %")


def evidence_words(finding) -> str:
    """A check's finding in a sentence or two: guide, builds, spread, and what it means."""
    s, unit = finding.summary, finding.unit
    figure = (f"Guide {format_quantity(finding.band.expected, unit)}, " if finding.band and
              finding.band.expected is not None else "")
    over = f", {s.over} over range" if s.over else ""
    sure = f" ({finding.meaning.kind}, {finding.meaning.probability:.0%})".replace("%", " %") if finding.meaning.each else ""
    return (f"{figure}{s.n} builds{over}: median {format_quantity(s.median, unit)}, robust spread "
            f"{format_quantity(s.spread, unit, 2)}; centre off by {finding.meaning.shift:+.2f} half-bands. "
            f"{finding.meaning.words}{sure}")
