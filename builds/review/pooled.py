"""From a check's rows to what they mean, and to the figure and band to propose."""
from builds.guides.circuit.stored import figure_of
from checks.pooled.findings import Evidence, Found, find
from checks.pooled.tolerance import Proposal, propose

NORMAL_95 = 3.92  # width of a 95 % band in standard deviations


def found_of(standings, band, snags: int) -> Found:
    """The finding on one check from its builds' standings (latest readings at hand)."""
    half = band.half_width if band and band.half_width else None
    us = [s.latest.u for s in standings if not s.latest.over_range]
    u = sum(us) / len(us) / half if us and half else 0.0
    right = sum(s.attempts > 1 and s.first_outcome != "in band" and s.outcome == "in band" for s in standings)
    one_sided = bool(band) and (band.low is None) != (band.high is None)
    return find(Evidence(tuple(s.deviation for s in standings), u, right, snags, one_sided))


def proposal_of(check, standings, band) -> Proposal | None:
    """What the builds would have the guide say; None for fewer than three, and for checks with a limit on one side only."""
    if band is None or band.low is None or band.high is None:
        return None
    values = [s.latest.at_reference for s in standings if s.latest.at_reference is not None]
    model = figure_of(check)
    model_sd = (model["high"] - model["low"]) / NORMAL_95 if model else None
    return propose(values, model_sd=model_sd or None, stop_below=band.stop_below, stop_above=band.stop_above)
