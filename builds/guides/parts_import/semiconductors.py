"""What the type of a semiconductor says: its kind, by the registers of types, and the volts that are written in it.

BZX, BZY and the like by the Pro Electron code (a letter for the tolerance, then the volts, with V for the point); 2SA
to 2SK by JIS C 7012; the rest are registered and makers' types, from memory.
"""

import re

_ZENER = (
    r"\bBZ[XYVTWD]\d{2}|\bZ(?:PD|PY|TE|TK|F|D|Y)\s?-?\d|\b1N(?:47(?:2[89]|[345]\d|6[0-4])|52(?:2[1-9]|[3-7]\d|8[01])|"
    r"53(?:3[3-9]|[4-7]\d|8[0-8])|(?:74[6-9]|75\d)|(?:95[7-9]|9[678]\d))[A-D]?\b"
)
_BRIDGE = r"\bB\d{2,3}\s?[CR]\s?\d{2,5}\b|\b[GK]BU\d|\b[GK]BPC?\d|\bDF\d{2}[MS]?\b|\bW0\dM?\b|\bMB\d{1,2}[SFM]\b"
_NPN = (
    r"\bBC(?:10[789]|14[789]|18[234]|23[789]|33[78]|54[6-9]|550|63[579])|\bBD(?:13[579]|23[79]|24[13]|433|435|437|439)"
    r"|\bBF(?:25[789]|42[02]|45[789]|469|471|871)|\bMPSA(?:0[56]|1[34]|4[234])|\bMJE(?:340|1503[024])|"
    r"\bTIP(?:29|31|33|35|41|4[789]|50|3055)|\bKSC\d{4}|\b2S[CD]\d{2,4}|"
    r"\b2N(?:222[12]|2219|305[35]|34(?:39|40)|390[34]|555[01])"
)
_PNP = (
    r"\bBC(?:17[789]|21[234]|25[123]|30[789]|32[78]|55[6-9]|560|63[68]|640)|\bBD(?:13[68]|140|238|24[24]|43[468]|440)|"
    r"\bBF(?:42[13]|470|472|872)|\bMPSA(?:5[56]|9[23])|\bMJE(?:350|1503[135])|\bTIP(?:30|32|34|36|42|2955)|\bKSA\d{4}|"
    r"\b2S[AB]\d{2,4}|\b2N(?:290[57]|2955|390[56]|540[01]|541[56])"
)
_P_CHANNEL = r"p-?(?:channel|kanal)|\bIRFP?9\d{2,3}|\bBS250|\b2SJ\d|\bFQP\d+P\d"
_N_CHANNEL = (
    r"n-?(?:channel|kanal)|\bIRF(?:P|BC|B|PC|PG|BG)?[1-8]?\d{2,3}|\bBUZ\d|\bBS1[07]\d|\b2N700\d|\b2SK\d|\bFQP?[FA]?\d+N\d|"
    r"\bST[PWF]\d+N[A-Z]*\d|\bIXT[A-Z]\d|\bDN\d{4}|\bLND150|mosfet"
)
# Of ICs: fixed and adjustable regulators, and op-amps.
_NEGATIVE = r"\b(?:LM|L|MC|[uµ]A|KA|TS)?\s?-?79[LM]?\d\d|\bLM[13]37\b|\bnegative"
_POSITIVE = (
    r"\b(?:LM|L|MC|[uµ]A|KA|TS)?\s?-?78[LMS]?\d\d|\bLM[13]17|\bTL783|\bLM[13]50\b|\bLT108\d|\bregulator|"
    r"\bspannungsregler"
)
_OP_AMP = (
    r"\b(?:NE|SE|SA|NJM)?553[24]|\b(?:NE|NJM)?4558|\bTL0[678]\d|\bOPA\d{3,4}|\bLM(?:358|324|833|4562|741)|\bAD8\d{2,3}|"
    r"\bop[- ]?amp|operationsverst"
)

_DIODES = ((_ZENER, "zener"), (_BRIDGE, "bridge"))
_TRANSISTORS = (
    (r"\bnpn\b|" + _NPN, "npn transistor"),
    (r"\bpnp\b|" + _PNP, "pnp transistor"),
    (_P_CHANNEL, "p-channel mosfet"),
    (_N_CHANNEL, "n-channel mosfet"),
)
_CIRCUITS = ((_NEGATIVE, "negative regulator"), (_POSITIVE, "regulator"), (_OP_AMP, "op-amp"))
_BY_LETTERS = {"D": _DIODES, "GL": _DIODES, "T": _TRANSISTORS, "TR": _TRANSISTORS, "Q": _TRANSISTORS}
_BY_LETTERS |= {"U": _CIRCUITS, "IC": _CIRCUITS}
NEVER_BY_LETTER = ("Q", "U", "IC")  # polarity and purpose stand in the type alone

_VOLTS_OF_ZENER = re.compile(
    r"\b(?:BZ[XYVTWD]\d{2}[-/ ]?[A-E]|ZPD|ZPY|ZTE|ZY|ZD|ZF)[-/ ]?(\d{1,3})(?:[V,.](\d))?(?![\dV])", re.IGNORECASE
)
_VOLTS_OF_REGULATOR = re.compile(r"(?<!\d)7[89][LMS]?(\d\d)(?!\d)", re.IGNORECASE)
_WITH_POINT = {"33": "3.3 V"}


def kind_by_type(letters: str, words: str) -> str:
    """The kind of a part with a semiconductor's letters by a type among the words of its row; "" where none says it."""
    return next((kind for types, kind in _BY_LETTERS.get(letters, ()) if re.search(types, words, re.IGNORECASE)), "")


def volts_in_type(kind: str, words: str) -> str:
    """The volts that a type gives: 12 V of BZX85C12 and of 7812; "" for one that does not."""
    if kind == "zener" and (match := _VOLTS_OF_ZENER.search(words)):
        return f"{match[1]}.{match[2]} V" if match[2] else f"{int(match[1])} V"
    if kind in ("regulator", "negative regulator") and (match := _VOLTS_OF_REGULATOR.search(words)):
        return _WITH_POINT.get(match[1], f"{int(match[1])} V")
    return ""
