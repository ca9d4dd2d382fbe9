"""Cathodes that a fault leaves to a valve almost cut off, as an open cathode resistor does.

Such a cathode rises until the valve hardly conducts. A model fitted to the currents that a valve is used at ends there
too sharply: the winding of a real grid is uneven, and lets a few microamperes through at one and a half to three times
the volts at which a sharp law ends. Data sheets of the ECC81, ECC82 and 6SN7 give 10 µA there (from memory).
"""

import numpy as np

# Ω, and times a good kit's, from which only such a valve holds its cathode; of its volts over its grid, what it may be
# off by (standard deviation).
HELD_BY_VALVE, MORE_THAN_GOOD, TAIL = 1e5, 50.0, 0.5


def volts_over_grids(parts, net, places, loaded):
    """(rows, places): how far each cathode that is read stands over its grid, in V; NaN elsewhere. `loaded` (rows,
    places) is what a meter reads."""
    over = np.full(loaded.shape, np.nan)
    read = {net.node(p.probe.red): n for n, p in enumerate(places) if _is_volts_to_chassis(p.probe, net)}
    for cathode, grid in _pairs(parts, net):
        if cathode not in read or not (grid in read or grid == net.node("chassis")):
            continue
        at = read[cathode]
        over[:, at] = loaded[:, at] - (loaded[:, read[grid]] if grid in read else 0.0)
    return over


def _is_volts_to_chassis(probe, net) -> bool:
    return probe.measure == "dc volts" and not probe.under and net.node(probe.black) == net.node("chassis")


def _pairs(parts, net):
    """Yield (node of a cathode, node of its grid) of the valves that are fitted."""
    for part in parts:
        if part.ref in net.condition.not_fitted:
            continue
        for terminal, node in part.joins.items():
            grid = part.joins.get(terminal.removesuffix("cathode") + "grid")
            if terminal.endswith("cathode") and grid is not None:
                yield net.nodes[node], net.nodes[grid]


def add_tails(scatter, over, source, slopes):
    """`scatter` (rows, n, n) with the variance that a valve's tail adds. `over` as of `volts_over_grids`, `source` the
    Ω that a meter loads, the first row a good kit's; `slopes` d(scale)/d(volts)."""
    held = (source > HELD_BY_VALVE) & (source > MORE_THAN_GOOD * np.maximum(source[0], 1.0)) & (over > 0)
    diagonal = np.arange(scatter.shape[1])
    scatter[:, diagonal, diagonal] += np.where(held, TAIL * np.where(held, over, 0.0) * slopes, 0.0) ** 2
    return scatter
