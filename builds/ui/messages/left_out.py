"""What the fault list of a very large guide does without, in sentences."""

from django.utils.translation import ngettext

from checks.diagnosis.bounds import LeftOut
from checks.diagnosis.codes import FaultCode


def left_out_sentences(left_out: LeftOut) -> list[str]:
    """One a kind, the designer to read them under each other; nothing where everything is in."""
    counts = dict(left_out.faults)
    named = [(_KINDS[code], counts.pop(code.value)) for code in _KINDS if code.value in counts]
    sentences = [sentence(n) % {"n": n} for sentence, n in named]
    if rest := sum(counts.values()):
        sentences.append(_rare(rest) % {"n": rest})
    if left_out.extras:
        sentences.append(_extras(left_out.extras) % {"n": left_out.extras})
    return sentences


_KINDS = {
    FaultCode.CHANGED_PLACES: lambda n: ngettext(
        "%(n)s pair of resistors in each other’s place. Each appears as a wrong value.",
        "%(n)s pairs of resistors in each other’s place. Each appears as a wrong value.",
        n,
    ),
    FaultCode.MISREAD: lambda n: ngettext(
        "%(n)s misread colour code. It appears as a wrong value.",
        "%(n)s misread colour codes. Each appears as a wrong value.",
        n,
    ),
    FaultCode.WRONG_PIN: lambda n: ngettext(
        "%(n)s wire on the neighbouring pin. It appears as a pin that is not soldered.",
        "%(n)s wires on the neighbouring pin. Each appears as a pin that is not soldered.",
        n,
    ),
}


def _rare(n: int) -> str:
    return ngettext(
        "%(n)s of the rarest other faults. A build that has it is shown without a known cause.",
        "%(n)s of the rarest other faults. A build that has one of them is shown without a known cause.",
        n,
    )


def _extras(n: int) -> str:
    return ngettext(
        "%(n)s extra reading that could be suggested.",
        "%(n)s extra readings that could be suggested.",
        n,
    )
