"""What stands against issuing a guide, in sentences."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.accounts.cautions import CAUTIONS
from builds.ui.formatting import format_figure
from builds.ui.messages.circuit import circumstance_label
from builds.ui.messages.stress import stress_label


def objection_sentence(code: str, params: dict) -> str:
    """One objection as the designer reads it; also of those kept with an issued revision."""
    return _SENTENCES[code](params)


def _plain(text):
    """`text` is a function, so that it is translated when it is read."""
    return lambda params: text() % params


def _loop(params):
    return _("Hints form a loop: %(checks)s.") % {"checks": " → ".join([*params["checks"], params["checks"][0]])}


def _past_rating(params):
    limit = format_figure(params["limit"], params["unit"])
    return _(
        "%(check)s: the band extends past the rating of %(ref)s, %(limit)s. Narrow the band or give a stop limit."
    ) % (params | {"limit": limit})


def _stop_past_rating(params):
    limit, stop = (format_figure(params[name], params["unit"]) for name in ("limit", "stop"))
    return _(
        "%(check)s: the stop limit of %(stop)s is past the rating of %(ref)s, %(limit)s. Keep it within the rating."
    ) % (params | {"limit": limit, "stop": stop})


def _source(params):
    own, model = (format_figure(params[name], "Ω") for name in ("own", "model"))
    return _(
        "%(check)s: the guide gives a source resistance of %(own)s, the circuit %(model)s. Readings would be corrected "
        "for a load that is not there."
    ) % (params | {"own": own, "model": model})


def _nothing(params):
    expected = format_figure(params["expected"], params["unit"])
    return _(
        "%(check)s: about %(expected)s is expected, but a reading of zero would be in band. Give a lower limit."
    ) % (params | {"expected": expected})


def _unwarned(params):
    return _(
        "“%(stage)s” puts probes on %(volts)s (%(check)s) without the caution “%(caution)s”. Add it to the cautions of "
        "this stage."
    ) % (params | {"volts": format_figure(abs(params["volts"]), "V"), "caution": CAUTIONS["lethal-voltage"][0]})


def _contradicted(params):
    own, model = (format_figure(params[name], params["unit"]) for name in ("own", "model"))
    figures = {"own": own, "model": model, "share": round(100 * params["share"])}
    return _("%(check)s: the guide says %(own)s, the circuit %(model)s, a difference of %(share)d %%.") % (
        params | figures
    )


def _outside(params):
    model = format_figure(params["model"], params["unit"])
    return _("%(check)s: the circuit gives %(model)s, which is outside the guide's band.") % (params | {"model": model})


def _over_limit(params):
    names = {"what": stress_label(params["what"]), "at": circumstance_label(params["at"])}
    return _("%(ref)s is over its limit: %(what)s (%(at)s).") % (params | names)


def _missed(params):
    count = params["count"]
    return ngettext(
        "No check detects %(count)d of the known faults of this circuit (%(refs)s).",
        "No check detects %(count)d of the known faults of this circuit (%(refs)s).",
        count,
    ) % {"count": count, "refs": ", ".join(params["refs"])}


def _stale(params):
    return (
        ngettext(
            "The translation “%(language)s” has %(count)d text whose original has changed. Builders see that.",
            "The translation “%(language)s” has %(count)d texts whose originals have changed. Builders see those.",
            params["count"],
        )
        % params
    )


_SENTENCES = {
    "rule": lambda params: f"{params['where']}: {params['message']}",
    "positions": lambda params: f"{params['where']}: {params['message']}",
    "circuit": lambda params: params["message"],
    "correction-left-out": _plain(
        lambda: _(
            "%(check)s still has the figures of the previous revision as issued. An erratum corrected "
            "them to %(figures)s."
        )
    ),
    "no-gate": _plain(
        lambda: _(
            "There is no gate before the power of “%(stage)s”. Make the stage before it a gate, with checks of its own."
        )
    ),
    "empty-gate": _plain(lambda: _("The gate “%(stage)s” has no check that must pass, so it holds nothing back.")),
    "unmarked-hands-in": _plain(
        lambda: _(
            "Step %(step)d of “%(stage)s” fits %(parts)s after the power has been on. "
            "Mark it “Hands go inside the kit”, so that the builder makes the kit safe first."
        )
    ),
    "no-stop": _plain(
        lambda: _("%(check)s has no stop limit, and no part between its probes sets one. Give the volts to stop at.")
    ),
    "no-upper-stop": _plain(
        lambda: _(
            "%(check)s has a lower stop limit only, and no part between its probes sets an upper one. Give the "
            "volts to stop at."
        )
    ),
    "stop-unused": _plain(
        lambda: _(
            "%(check)s has no figure to judge readings by, so the rating of %(ref)s cannot trigger a stop. Give a "
            "figure, or the volts to stop at."
        )
    ),
    "touch-stop": lambda params: (
        _(
            "%(check)s has no stop limit, and no part between its probes sets one. The touch limit of %(limit)g V is "
            "used."
        )
        % params
    ),
    "band-past-rating": _past_rating,
    "stop-past-rating": _stop_past_rating,
    "source-contradicted": _source,
    "nothing-passes": _nothing,
    "unwarned": _unwarned,
    "live-unpowered": _plain(
        lambda: _(
            "%(check)s expects a voltage that can hurt in a stage without power. Set the power of that stage to on, or "
            "move the check to a stage that has power."
        )
    ),
    "fitted-unseen": _plain(
        lambda: _(
            "“%(stage)s” needs %(parts)s, which is fitted after the kit has had power, but no step fits it. Add "
            "a step that does, and mark it “Hands go inside the kit”."
        )
    ),
    "fitted-late": _plain(
        lambda: _(
            "“%(stage)s” needs %(parts)s from its first reading on, but the step that fits them comes after it. Move "
            "that step before the readings."
        )
    ),
    "words-mains": _plain(
        lambda: _(
            "“%(stage)s” seems to send a builder’s probes to the mains: “%(words)s”. Ask for a plug-in meter instead."
        )
    ),
    "words-earth": _plain(
        lambda: _("“%(stage)s” seems to ask for the protective earth to be removed: “%(words)s”. Never lift an earth.")
    ),
    "words-hands-in": _plain(
        lambda: _(
            "“%(stage)s” seems to put hands inside the kit after it has had power: “%(words)s”. Mark the step “Hands "
            "go inside the kit”, so that the builder makes the kit safe first."
        )
    ),
    "words-switch-on": _plain(
        lambda: _(
            "“%(stage)s” is a stage without power, but seems to ask for the kit to be switched on: “%(words)s”. Move "
            "the step to a stage with power."
        )
    ),
    "switch-on-first": _plain(
        lambda: _(
            "“%(stage)s” seems to ask for the kit to be plugged in or switched on (“%(words)s”) before these checks: "
            "%(checks)s. Put the step after them."
        )
    ),
    "meter-unsaid": _plain(
        lambda: _(
            "%(check)s: a meter of 10 MΩ reads %(share)d %% low here. Was your figure read with a meter? Then give its "
            "input resistance."
        )
    ),
    "like-the-mains": _plain(
        lambda: _(
            "%(check)s reads a voltage as high as the mains at points in your own words. Name points of the circuit, "
            "or name the winding, so that nobody measures the mains."
        )
    ),
    "other-mains": _plain(
        lambda: _(
            "The note of %(ref)s gives a primary for %(said)d V, and the guide is for mains of %(volts)d V. Correct "
            "whichever is wrong: every expected value depends on it."
        )
    ),
    "hint-loop": _loop,
    "not-computed": _plain(
        lambda: _("The circuit has not been computed yet, so it cannot be compared with the guide.")
    ),
    "over-limit": _over_limit,
    "contradicted": _contradicted,
    "outside-band": _outside,
    "unjoined": _plain(lambda: _("%(check)s is read at %(place)s, and nothing in the circuit is joined to it.")),
    "missed-faults": _missed,
    "stale-translation": _stale,
}
