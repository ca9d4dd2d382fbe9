"""What to do about a finding, in words from its numbers."""
from checks.quantity import format_quantity


def suggest(check, band, summary, sense, missed) -> str:
    """A suggested edit in words."""
    if sense.kind == "figure off" and summary.median is not None and band and band.expected is not None:
        return (f"Change the expected value from {format_quantity(band.expected, check.unit)} to "
                f"{format_quantity(summary.median, check.unit)}: {sense.words} First look whether the part or the printed "
                "figure is at fault.")
    return {
        "figure off": "Move the band to where the builds read, if the circuit is right.",
        "part batch": f"Compare the parts of the two groups before touching the guide. {sense.words}",
        "band too tight": "Widen the band: good builds scatter by more than it allows.",
        "single builds": "Keep the figure. Look at the builds that are out, and give the check a hint from what they had.",
        "step unclear": "Keep the figure. Say more clearly where to probe and what to wait for.",
        "not enough": f"Too early to say: {missed.n} build(s) so far.",
        "fits": "Nothing to change in the figure; read the snags.",
    }[sense.kind]
