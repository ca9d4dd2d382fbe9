"""What a builder is to do about a reading that is off, as codes: one leads, the others stand behind it.

Whether to switch off comes first; what contradicts it is never given at all.
"""

from dataclasses import dataclass, field
from enum import StrEnum

from checks.finite import finite_figures


class AdviceCode(StrEnum):
    SWITCH_OFF = "switch off"  # power is on record, and the reading may mean an overload
    KEEP_OFF = "keep off"  # the same, and the kit is made safe
    POWER_MAY_STAY = "power may stay"  # power is on record, and the reading cannot mean an overload
    NEGATIVE_SUPPLY = "negative supply"  # or a positive one where it should be negative
    WRONG_SIGN = "wrong sign"
    CHARGED_CAPACITOR = "charged capacitor"
    ONE_MISTAKE = "one mistake"
    SAME_TWICE = "same twice"
    MEASURING_ERROR = "measuring error"
    FITS_GOOD_KIT = "fits a good kit"
    OTHER_READING = "other reading"  # another reading than this one looks like a measuring error
    LIKELY_CAUSE = "likely cause"
    LIKELY_CAUSES = "likely causes"  # of which the readings choose none
    NO_KNOWN_FAULT = "no known fault"
    MAYBE_TWO_FAULTS = "maybe two faults"
    FIND_CAUSE = "find the cause"
    NOTHING_FOUND = "nothing found"  # with the power off: then a snag, and no power


ASKS_TO_MEASURE_AGAIN = frozenset(
    {AdviceCode.ONE_MISTAKE, AdviceCode.SAME_TWICE, AdviceCode.MEASURING_ERROR, AdviceCode.FITS_GOOD_KIT}
    | {AdviceCode.OTHER_READING, AdviceCode.WRONG_SIGN}
)
POWER_OFF = frozenset({AdviceCode.SWITCH_OFF, AdviceCode.KEEP_OFF})


@dataclass(frozen=True)
class Sentence:
    """One thing to say: its code and what goes into it."""

    code: AdviceCode
    params: dict = field(default_factory=dict, hash=False)


@dataclass(frozen=True)
class Advice:
    """`lead` is said first and alone; `folded` is there for whoever asks for more."""

    lead: Sentence
    folded: tuple[Sentence, ...] = ()

    @property
    def power_off(self) -> bool:
        return self.lead.code in POWER_OFF


@finite_figures
@dataclass(frozen=True)
class Situation:
    """What advice is made from. `power_on` is on record; `may_overload` says whether the reading may mean an overload;
    `stopped` whether a stop stands on the build. `value` is the reading in SI, None over range."""

    unit: str
    value: float | None
    power_on: bool = False
    powered_check: bool = False
    may_overload: bool = False
    is_supply: bool = False
    wants_positive: bool = True
    stopped: bool = False
    is_turned: bool = False  # far on the other side of zero from where a good reading lies
    off_for_another: bool = False  # another reading may mean an overload: the page says first that the power goes off


def advise(situation: Situation, opinions: tuple[Sentence, ...]) -> Advice:
    """Whether to switch off, then what the sign alone tells, then `opinions` (what the readings together say), the
    first that may be given leading. With the power to stay off nothing asks for a live reading."""
    rest = [*_by_sign(situation), *opinions]
    power = _power(situation)
    if situation.stopped or situation.off_for_another or (power and power.code in POWER_OFF):
        rest = [one for one in rest if one.code not in ASKS_TO_MEASURE_AGAIN]
        rest += [Sentence(AdviceCode.NOTHING_FOUND)] if power else []
    sentences = [power, *rest] if power else rest
    sentences = sentences or [Sentence(AdviceCode.FIND_CAUSE)]
    return Advice(sentences[0], tuple(_agreeing(sentences)))


def _power(situation: Situation) -> Sentence | None:
    if not situation.powered_check:
        return None
    if situation.may_overload or situation.stopped:
        return Sentence(AdviceCode.SWITCH_OFF if situation.power_on else AdviceCode.KEEP_OFF)
    may_stay = situation.power_on and not situation.off_for_another
    return Sentence(AdviceCode.POWER_MAY_STAY) if may_stay else None


def _by_sign(situation: Situation):
    if situation.is_turned:
        yield Sentence(AdviceCode.NEGATIVE_SUPPLY, {"value": situation.value, "unit": situation.unit})
        return
    if situation.value is None or situation.value >= 0:
        return
    if situation.unit == "Ω":
        yield Sentence(AdviceCode.CHARGED_CAPACITOR, {"value": situation.value, "unit": situation.unit})
    elif situation.is_supply:
        yield Sentence(AdviceCode.NEGATIVE_SUPPLY, {"value": situation.value, "unit": situation.unit})
    elif situation.wants_positive:
        yield Sentence(AdviceCode.WRONG_SIGN, {"value": situation.value, "unit": situation.unit})


RIVALS = (  # of each of these sets one is said: they contradict each other
    {
        AdviceCode.ONE_MISTAKE,
        AdviceCode.SAME_TWICE,
        AdviceCode.MEASURING_ERROR,
        AdviceCode.FITS_GOOD_KIT,
        AdviceCode.NO_KNOWN_FAULT,
        AdviceCode.LIKELY_CAUSE,
        AdviceCode.LIKELY_CAUSES,
        AdviceCode.CHARGED_CAPACITOR,
    },
    {
        AdviceCode.LIKELY_CAUSE,
        AdviceCode.LIKELY_CAUSES,
        AdviceCode.NO_KNOWN_FAULT,
        AdviceCode.OTHER_READING,
        AdviceCode.NEGATIVE_SUPPLY,
    },
)


def _agreeing(sentences):
    """Those behind the first, without what contradicts any said before."""
    agreeing = [sentences[0]]
    for one in sentences[1:]:
        rivals = any(one.code in group and before.code in group for group in RIVALS for before in agreeing)
        if not rivals and one.code not in {before.code for before in agreeing}:
            agreeing.append(one)
            yield one
