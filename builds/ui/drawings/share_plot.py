"""Shares with their intervals, one under the other: how sure a yield of few builds is, at a glance."""

from builds.ui.drawings.plot import Label, Line, Mark, Plot

WIDTH, LEFT, RIGHT, ROW, TOP = 320.0, 8.0, 252.0, 29.0, 6.0


def share_plot(description: str, rows, *, what: str = "Stage") -> Plot | None:
    """`rows`: (label, checks.pooled Share). A dot at the share, a line over its interval; None when nothing was
    counted."""
    shares = [(label, share) for label, share in rows if share.n]
    if not shares:
        return None

    def x(share):
        return LEFT + (RIGHT - LEFT) * share

    foot = TOP + ROW * len(shares) + 4
    shapes: list[Line | Label | Mark] = []
    for n, (label, share) in enumerate(shares):
        y = TOP + ROW * n + 21
        shapes += [
            Line(x(at), y - 5, x(at), y + 5, "grid") for at in (0.0, 0.25, 0.5, 0.75, 1.0)
        ]  # never through the words above
        if n:
            shapes.append(Line(LEFT, TOP + ROW * n, WIDTH - 2, TOP + ROW * n, "grid"))
        shapes += [
            Label(LEFT, y - 9, label, "start"),
            Line(x(share.low), y, x(share.high), y, "whisker"),
            Line(x(share.low), y - 3, x(share.low), y + 3, "whisker"),
            Line(x(share.high), y - 3, x(share.high), y + 3, "whisker"),
            Mark(x(share.share), y, "dot", f"{label}: {share.successes} of {share.n}"),
            Label(WIDTH - 2, y + 3.5, f"{share.successes} of {share.n}", "end"),
        ]
    shapes += [
        Label(x(at), foot + 12, f"{at:.0%}".replace("%", " %"), "start" if at == 0 else "middle")
        for at in (0.0, 0.5, 1.0)
    ]
    return Plot(
        description,
        WIDTH,
        foot + 16,
        tuple(shapes),
        (what, "Count", "Share", "95 % interval"),
        tuple(
            (label, f"{s.successes} of {s.n}", f"{s.share:.0%}", f"{s.low:.0%} to {s.high:.0%}") for label, s in shares
        ),
    )
