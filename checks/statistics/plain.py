"""What the statistics say, in words that need no statistics."""

CLAIMS = {
    "fits": "the guide is {sure} right",
    "figure off": "the guide's figure is {sure} wrong",
    "band too tight": "the band is {sure} too tight",
    "part batch": "{sure} two batches of a part",
    "single builds": "{sure} single builds went wrong",
    "step unclear": "the words are {sure} unclear",
    "not enough": "too early to say",
}
SURE = 0.95  # from which a claim is more than probable


def claim(kind: str, probability: float | None = None) -> str:
    """A finding with how sure it is: "The guide's figure is probably wrong (93 %)"; without a probability where it has
    none."""
    words = CLAIMS[kind].format(sure="almost surely" if probability and probability >= SURE else "probably")
    words = words[:1].upper() + words[1:]
    return words if probability is None or kind == "not enough" else f"{words} ({percent(probability)})"


def otherwise(others) -> str:
    """The less likely explanations, [(kind, probability)], in one breath; empty where there are none."""
    return ", ".join(f"{' '.join(CLAIMS[kind].format(sure='').split())} ({percent(p)})" for kind, p in others)


def percent(share: float) -> str:
    """A probability as whole per cent; nothing that builds say is told as certain."""
    return "over 99 %" if share >= 0.995 else "under 1 %" if share < 0.005 else f"{100 * share:.0f} %"


def reach(shift: float, figure: str = "the guide's figure") -> str:
    """A shift in half-bands (the limit is at 1) as a share of the way from the figure to the limit, or as a multiple of
    it."""
    far = round(abs(shift), 1)
    if far == 1:
        return f"as far from {figure} as the limit"
    return (
        f"{far} of the way from {figure} to the limit" if far < 1 else f"{far} times as far from {figure} as the limit"
    )


def widths(shift: float) -> str:
    """A shift in half-bands as band-widths, from low to high, with its sign: "+0.90"."""
    return f"{shift / 2:+.2f}".replace("-", "\N{MINUS SIGN}")
