"""What a careless guide would do to a builder: stop limits past what the parts stand, hands and valves that go in
unseen, words that send somebody to the mains. Yields (code, parameters, row) of each."""

from itertools import takewhile

from builds.guides.blocks.transformer_guess import primary_volts
from builds.guides.circuit.stored import find_figure
from builds.guides.dangerous_words import Order, orders_in
from builds.guides.figures import band_for, is_model, source_ohms
from builds.guides.rated_stops import is_past, limits_at, ratings_for
from checks.circuit.ratings.stop_limits import LimitOf
from checks.measures import MEASURES, VOLTS
from checks.safety import energy_class
from checks.serials import natural

# Times a limit from ratings, up to which a designer's own stop may lie. A capacitor's is its surge voltage (IEC
# 60384-4; from memory). A heater's and a winding's limit hold an excess already: 1.5 times a heater's volts (assumed).
EXCESS = {LimitOf.CAPACITOR_VOLTS: 1.15, LimitOf.HEATER_VOLTS: 1.2, LimitOf.WINDING_VOLTS: 1.2}
OTHERS = 1.5  # of the design-centre ratings of valves, and of what a resistor dissipates (assumed)
OTHER_SOURCE = 3.0  # times the circuit's source resistance, from which a guide's own contradicts it
LETHAL = "lethal-voltage"  # the caution of that name
MAINS_SHARE = 0.15  # of the mains volts, within which alternating volts in words may be the mains
COMMON_INPUT = 10e6  # Ω, of a digital voltmeter (common practice)
LEAST_EXPECTED = {"V": 1.0, "A": 1e-3}  # from which nothing at all is no good reading (assumed)
OF_BAND = 0.25  # of a band's half-width, from which a meter's load matters
OF_WINDING = ("secondary", "winding", "rectifier", "sekundär", "wicklung", "gleichrichter")


def list_dangers(revision, guide):
    yield from _stops_past_ratings(guide)
    yield from _valves_without_hands_in(guide)
    yield from _words(guide)
    yield from _like_the_mains(revision, guide)
    yield from _other_mains(revision, guide)
    yield from _source_resistances(guide)
    yield from _nothing_passes(guide)
    yield from _unwarned(guide)
    yield from _live_without_power(guide)


def _live_checks(guide):
    return ((stage, check) for stage in guide.stages if stage.is_powered for check in stage.checks.all())


def _unwarned(guide):
    """A stage that puts probes on what hurts most (ES3) without the caution that says so."""
    for stage in guide.stages:
        if not stage.is_powered or LETHAL in stage.cautions:
            continue
        expected = {check: _expected_volts(check) for check in stage.checks.all()}
        worst = max(expected, key=lambda check: abs(expected[check]), default=None)
        if worst is not None and _find_energy_class(worst, expected[worst]) == "ES3":
            params = {"stage": stage.title, "check": worst.title, "volts": expected[worst]}
            yield "unwarned", params, ("stage", stage.pk)


def _live_without_power(guide):
    """Volts that hurt, expected in a stage without power: no gate, caution or stop would stand before them. An upper
    limit alone is how a kit is found discharged."""
    for stage in guide.stages:
        for check in stage.checks.all() if not stage.is_powered else ():
            band = band_for(check) if check.measure in VOLTS else None
            if band is None:
                continue
            expected = band.low if band.expected is None else band.expected
            if expected is not None and _find_energy_class(check, expected) != "ES1":
                yield "live-unpowered", {"check": check.title}, ("check", check.pk)


def _expected_volts(check) -> float:
    """What a check of volts is to read, or may read at most; 0 where it says nothing of that."""
    band = band_for(check) if check.measure in VOLTS else None
    figures = (band.expected, band.low, band.high) if band else ()
    return max((figure for figure in figures if figure is not None), key=abs, default=0.0)


def _find_energy_class(check, volts: float) -> str:
    is_ac = MEASURES[check.measure].kind == "ac"
    return energy_class(ac_volts_rms=abs(volts)) if is_ac else energy_class(dc_volts=volts)


def _stops_past_ratings(guide):
    """A designer's own stop limit takes the place of the ratings: it must lie where they do."""
    for _stage, check in _live_checks(guide):
        band, limits = band_for(check), limits_at(guide, check)
        if band is None or not (check.stop_above or check.stop_below):
            continue
        for limit in ratings_for(band, limits):
            params = {"check": check.title, "ref": limit.ref, "limit": limit.value, "unit": check.unit}
            excess = EXCESS.get(limit.of, OTHERS)
            stop = band.stop_above if limit.sign > 0 else band.stop_below
            if is_past(band, limit):
                yield "band-past-rating", params, ("check", check.pk)
            elif stop is not None and limit.sign * (stop - excess * limit.value) > 0:
                yield "stop-past-rating", params | {"stop": stop}, ("check", check.pk)


def _valves_without_hands_in(guide):
    """Parts that one powered stage leaves out and a later one has in, with no step before that one's first reading
    that puts hands in."""
    out: set[str] = set()
    had_power, hands = False, False
    for stage in guide.stages:
        if not stage.is_powered:
            hands = hands or (had_power and _puts_hands_in(stage.items))
            continue
        first = [*takewhile(lambda row: not row.is_check, stage.items)]
        rest = stage.items[len(first) :]
        hands = hands or (had_power and _puts_hands_in(first))
        fitted = out - set(stage.not_fitted)
        if had_power and fitted and not hands:
            code = "fitted-late" if _puts_hands_in(rest) else "fitted-unseen"
            yield code, {"stage": stage.title, "parts": _listed(fitted)}, ("stage", stage.pk)
        out, had_power, hands = set(stage.not_fitted), True, _puts_hands_in(rest)


def _puts_hands_in(rows) -> bool:
    return any(not row.is_check and row.hands_in for row in rows)


def _listed(refs) -> str:
    return ", ".join(sorted(refs, key=natural))


def _words(guide):
    had_power, last = False, guide.stages[-1] if guide.stages else None
    for stage in guide.stages:
        had_power = had_power or stage.is_powered
        for text, row, step in _list_texts(stage):
            params = {"stage": stage.title, "words": " ".join(text.split())[:80]}
            for order in sorted(orders_in(text)):
                if order is Order.HANDS_IN and (not had_power or step is None or step.hands_in or step.parts):
                    continue  # a step with parts is told of by its parts
                if order is Order.SWITCH_ON and (stage.is_powered or step is None):
                    continue
                if order is Order.SWITCH_ON and stage is last:  # where the finished kit is put to use
                    yield from _before_checks(stage, step, params, row)
                    continue
                yield order.value, params, row


def _before_checks(stage, step, params, row):
    """A finished kit is plugged in once every check without power that lets it out is done, not before."""
    items = [(item.is_check, item.pk) for item in stage.items]
    behind = items[items.index((False, step.pk)) + 1 :]
    left = [check.title for check in stage.checks.all() if not check.optional and (True, check.pk) in behind]
    if left:
        yield "switch-on-first", params | {"checks": ", ".join(left)}, row


def _list_texts(stage):
    """(text, its row, the step it is of or None)"""
    yield stage.intro, ("stage", stage.pk), None
    for step in stage.steps.all():
        yield step.text, ("step", step.pk), step
    for check in stage.checks.all():
        for text in (check.title, check.note, *(hint.get("text", "") for hint in check.hints)):
            yield text, ("check", check.pk), None


def _like_the_mains(revision, guide):
    """Alternating volts as high as the mains, between points in words: nothing tells that they are off it."""
    for _stage, check in _live_checks(guide):
        places = (check.red, check.black)
        if check.measure != "ac volts" or not all(place.startswith("=") for place in places):
            continue
        band = band_for(check)
        near = (revision.mains_volts * (1 - MAINS_SHARE), revision.mains_volts * (1 + MAINS_SHARE))
        middle = band and (band.expected or ((band.low or 0.0) + (band.high or 0.0)) / 2)
        text = " ".join((*places, check.title)).lower()
        if middle and near[0] <= middle <= near[1] and not any(word in text for word in OF_WINDING):
            yield "like-the-mains", {"check": check.title}, ("check", check.pk)


def _other_mains(revision, guide):
    """A mains transformer whose note says another primary than the guide's mains: every reading would be judged by a
    figure that is as far off. What is said of its windings is judged with the circuit."""
    for part in guide.parts.values():
        primaries = primary_volts(part.note) if part.kind == "mains transformer" else []
        if primaries and not any(abs(volts / revision.mains_volts - 1) <= MAINS_SHARE for volts in primaries):
            yield (
                "other-mains",
                {"ref": part.ref, "said": primaries[0], "volts": revision.mains_volts},
                ("part", part.pk),
            )


def _source_resistances(guide):
    """A source resistance that the circuit contradicts: readings would be corrected by what is not there."""
    for _stage, check in _live_checks(guide):
        figure = find_figure(check)
        own = source_ohms(check) if check.source_resistance else None
        if not own or not figure or not figure["source_ohms"]:
            continue
        if own > OTHER_SOURCE * max(figure["source_ohms"], 1e3):
            params = {"check": check.title, "own": own, "model": figure["source_ohms"]}
            yield "source-contradicted", params, ("check", check.pk)


def _nothing_passes(guide):
    """A band that a reading of nothing lies in, where the guide or the circuit expects a voltage or a current."""
    for _stage, check in _live_checks(guide):
        band, figure, least = band_for(check), find_figure(check), LEAST_EXPECTED.get(check.unit)
        if band is None or least is None or is_model(check) or not band.contains(0.0):
            continue
        expected = band.expected if band.expected is not None else figure["value"] if figure else None
        if expected is not None and abs(expected) >= least:
            yield (
                "nothing-passes",
                {"check": check.title, "expected": expected, "unit": check.unit},
                ("check", check.pk),
            )


def figures_without_meter(guide):
    """Figures that a prototype's reading, or nobody knows what, made: with a meter on the point, or without?"""
    for _stage, check in _live_checks(guide):
        source, band = source_ohms(check), band_for(check)
        if check.measure not in VOLTS or check.read_with or is_model(check) or not source or band is None:
            continue
        middle, half = band.expected or band.low or band.high or 0.0, band.half_width
        if check.figure_from != check.Figure.MODEL and half and abs(middle) * source / COMMON_INPUT > half * OF_BAND:
            share = round(100 * source / COMMON_INPUT)
            yield "meter-unsaid", {"check": check.title, "share": share}, ("check", check.pk)
