"""Figures in words, as every paper says them."""

from builds.guides.row_labels import limits_words as limits_words_of
from checks.quantity import format_quantity
from checks.statistics.plain import widths

METHOD = " ".join(
    (
        "Readings are corrected for the meter's loading, brought to the guide's mains voltage, and "
        "judged with the builder's own meter.",
        "The middle is the median; spread is the scaled median absolute deviation.",
        "“Likely” is a 95 % interval: Wilson's for a share, Student's for a mean.",
        "The figure beside a meaning is the probability of that explanation among six, given the builds.",
        "A proposed band holds 95 % of future builds with 90 % confidence (ISO 16269-6). A band-width "
        "is the whole band, from low to high.",
        "What readings go with is said where the false discovery rate over all checks is 5 % or less.",
        "Before and after are compared with Newcombe's interval and Fisher's exact test, and called "
        "better or worse where both agree.",
    )
)


def signed(number: float) -> str:
    """One decimal with its sign, a true minus, and no sign on nothing."""
    return f"{number:+.1f}".replace("-", "\N{MINUS SIGN}") if round(number, 1) else "0.0"


def limits_words(low, high, unit) -> str:
    """A band in words: both limits, or at least, or at most."""
    if low is not None and high is not None:
        return limits_words_of(format_quantity(low, unit), format_quantity(high, unit))
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
    """A share with its interval: "384 of 412 (likely 90 to 95 %)"; "–" where nothing was counted."""
    return f"{share.successes} of {share.n} ({likely_words(share)})" if share.n else "–"


def likely_words(share) -> str:
    """The interval of a share: "likely 90 to 95 %"."""
    return f"likely {100 * share.low:.0f} to {100 * share.high:.0f} %"


def evidence_words(finding) -> str:
    """A check's finding in a few sentences: what it means and how sure that is, the guide's figure, and what the builds
    read."""
    return f"{finding.meaning.claim}. {finding.meaning.words} {middle_words(finding)}"


def middle_words(finding) -> str:
    """Guide and builds: "The guide says 262 V; the middle of 9 builds is 231 V (−0.96 band-widths)."."""
    s, unit, band = finding.summary, finding.unit, finding.band
    said = (
        f"The guide says {format_quantity(band.expected, unit)}; the" if band and band.expected is not None else "The"
    )
    over = f", {s.over} of them over range" if s.over else ""
    off = f" ({widths(finding.meaning.shift)} band-widths)" if band and band.expected is not None else ""
    return f"{said} middle of {s.n} builds{over} is {format_quantity(s.median, unit)}{off}."
