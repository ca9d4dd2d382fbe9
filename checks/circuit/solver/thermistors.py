"""Thermistors as the resistances they have at the current they carry: the primary's, in a mains lead."""

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.netlist.thermistors import hot_share

HALFWAY = 0.5  # of the way, on a logarithmic scale, that one round goes: a thermistor's share of its loop may be large


def warmed(net: Network, m, hot, volts, ac, primary_amps):
    """`hot` (samples, parameters + 1) with each thermistor's ohms a step nearer to what its current makes of them.

    `primary_amps` (samples, transformers) are called for only where a thermistor lies in a mains lead.
    """
    thermistors = {p.ref: p for p in net.parts if p.kind == "thermistor"}
    if not thermistors:
        return hot
    hot = hot.copy()
    leads = {ref: n for n, feed in enumerate(net.feeds) for ref in feed.lead_refs}
    for r in net.resistives:
        part = thermistors.get(r.ref)
        if part is None:
            continue
        if r.ref in leads:
            amps = primary_amps()[:, leads[r.ref]]
        else:
            across = np.hypot(np.nan_to_num(volts[:, r.a] - volts[:, r.b]), ac[:, r.a] - ac[:, r.b])
            amps = across / (r.ohms * hot[:, r.parameter])
        target = m[:, r.parameter] * hot_share(part, np.nan_to_num(amps))
        hot[:, r.parameter] *= (target / hot[:, r.parameter]) ** HALFWAY
    return hot
