"""The phone's verdict is the site's: one table of entries through both, in a browser's own script engine."""

import random

import pytest

from builds.accounts.models import Meter
from builds.bench.offline.judging import grammar, rules_for, safe_rules
from builds.bench.readings.context import build_context
from builds.bench.readings.made_safe import is_safe
from builds.guides.demo.files import demo_zip
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Check
from checks.errors import ChecksError
from checks.meter import PRESETS
from checks.quantity import parse_quantity
from tests import factories
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.dangers import table
from tests.dangers.driving import JUDGED, answer, make_bench

pytestmark = [pytest.mark.browser, pytest.mark.appearance, pytest.mark.django_db(transaction=True)]
CODES = {"i": "pass", "c": "too_close", "o": "out", "x": "stop"}
ASKS = {
    "digits": "ask_digits",
    "lone-one": "ask_digits",
    "which-unit": "ask_unit",
    "units-differ": "ask_unit",
    "milli": "ask_unit",
    "not-shown": "ask_unit",
}
ENGINE = """async ([cells, rules, grammar]) => {
  const { judge } = await import("/static/offline/judge.js");
  return cells.map(([check, typed, button]) => {
    try { return judge(typed, button, rules[check], grammar); }
    catch (error) { if (!error.code) { throw error; } return "!" + error.code; }
  });
}"""
MORE = [
    "",
    " ",
    "1.2e3",
    "12e-1 kV",
    "−0",
    "1",
    "1 .",
    "1.",
    "-1",
    "1 Ω",
    "1,",
    "1.0",
    "01",
    "1 mV",
    "+OL",
    "o.l",
    "over  range",
    "0l",
    "-over",
    "∞",
    "∞ MΩ",
    "1 GΩ",
    "99 °C",
    "5 W",
    "0.31 kV",
    "310000 mV",
    "310000",
    "120000",
    "3.1e2 V",
    "310 V dc",
    "310 V ~",
    "\ufeff310.4",
    "310.4\ufeff",
    "\x1c310.4",
    "\u200b310.4",
    "310 ac",
    "6.3 ~",
    "1e9",
    "1e-9",
    "1u",
    "12R",
    "R5",
    "0R5",
    "1k0",
    "100K",
    "0.1M",
    "100m",
    "100 mΩ",
    "350 mΩ",
    "0.35 Ω",
    "20000k",
    "22 M",
    "1,234",
    "1 234",
    "1\u2009234",
    "٣١٠",
    "３１０",
    "310\u00b2",
    "310;400",
    "310 400",
    "x" * 40,
    "31" * 12,
    "NaN",
    "Infinity",
    "0x10",
]


@pytest.fixture
def phone(page, live_server):
    page.goto(live_server.url + "/safety/")
    return page


def on_the_phone(phone, cells, rules) -> list[str]:
    return phone.evaluate(ENGINE, [cells, rules, grammar()])


def told(code: str) -> str:
    return CODES.get(code) or ASKS.get(code[1:], "refuse")


def differing(cells, codes, answers) -> list:
    return [
        (*cell, code, wanted)
        for cell, code, wanted in zip(cells, codes, answers, strict=True)
        if code != "?" and told(code) != wanted
    ]


def beforehand(rules, check, button):
    return rules[check]["beforehand"] if button is None else button


def near_a_change(rules, rng) -> list[str]:
    """Entries on and beside every figure at which the verdict changes, and some anywhere."""
    typed = []
    for power, row in rules["powers"].items():
        places = [n + off for n in row[1::2] for off in (-1, 0, 1)] + [rng.randrange(-9999, 9999) for _ in range(6)]
        typed += [f"{n}e{power} V".replace(" V", f" {rules['shows']}") for n in places if abs(n) < 10**12]
    return typed


@pytest.mark.lengthy
def test_every_entry_of_the_table_is_judged_alike(phone):
    build, checks = make_bench()
    rules = {key: rules_for(build_context(build, row, None)) for key, row in checks.items()}
    rng = random.Random(13)
    cells = [(c.check, c.typed, c.button) for c in table.typed_cells() + table.pressed_cells()]
    cells += [(key, typed, button) for key in checks for typed in MORE for button in (None, "", "kΩ", "mV", "V", "MΩ")]
    cells = [
        (check, typed, button)
        for check, typed, button in cells
        if not button or button in grammar()["shown"].get(rules[check]["shows"], ())
    ]
    cells += [(key, typed, None) for key in checks for typed in near_a_change(rules[key], rng)]
    sent = [(check, typed, beforehand(rules, check, button)) for check, typed, button in cells]
    codes = on_the_phone(phone, sent, rules)
    answers = [answer(build, checks[check], typed, button) for check, typed, button in cells]
    assert differing(cells, codes, answers) == []
    assert sum(code == "?" for code in codes) < 0.12 * len(codes)  # what it leaves to the site
    passes = [(cell, code) for cell, code, wanted in zip(cells, codes, answers, strict=True) if code == "i"]
    assert len(passes) > 200  # it does judge


@pytest.mark.lengthy
def test_the_demo_guides_checks_are_judged_alike_with_every_meter(phone):
    revision = store_guide(read_guide(demo_zip()), factories.make_designer())
    builder, rng, wrong = factories.make_builder(), random.Random(7), []
    rows = {c.key: c for c in Check.objects.filter(stage__revision=revision).select_related("stage__revision")}
    assert len(rows) > 20
    for preset, mains in (("handheld", None), ("basic", 238.0), ("analogue", 238.0)):
        meter = Meter.objects.create(owner=builder, name=preset, spec=PRESETS[preset].as_dict())
        build = factories.make_build(revision=revision, builder=builder, meter=meter)
        contexts = {key: build_context(build, row, mains) for key, row in rows.items()}
        rules = {key: found for key, context in contexts.items() if (found := rules_for(context))}
        cells = [
            (key, typed, rules[key]["beforehand"])
            for key in rules
            for typed in rng.sample(near_a_change(rules[key], rng), 40)
        ]
        codes = on_the_phone(phone, cells, rules)
        answers = [below(contexts[key], typed) for key, typed, _button in cells]
        wrong += differing(cells, codes, answers)
        assert {"i", "c", "o", "x"} <= set(codes)
    assert wrong == []


def below(context, typed) -> str:
    try:
        judged = context.judged(typed)
    except ChecksError as error:
        return ASKS.get(error.code, "refuse")
    return JUDGED[judged.verdict.outcome.value]


@pytest.mark.lengthy
def test_made_safe_is_judged_alike(phone):
    build, _checks = make_bench()
    rules = {"safe": safe_rules(build)}
    typed = [f"{n / 10:g}" for n in range(-650, 650, 7)] + ["59", "58.4", "59.9", "60", "59.70", "59.71", "0", "0.0"]
    codes = on_the_phone(phone, [("safe", text, "") for text in typed], rules)
    assert codes == ["s" if is_safe(build, parse_quantity(text, "V")) else "u" for text in typed]
    assert {"s", "u"} <= set(codes)
    refused = on_the_phone(
        phone, [("safe", text, "") for text in ("60 mV", "61 µV", "OL", "3 Ω", "12 ac", "3k3")], rules
    )
    assert refused == ["!unit", "!unit", "!unit", "!unit", "!kind", "!not-shown"]
    assert on_the_phone(phone, [("safe", text, "") for text in ("1", "1.", "-1")], rules) == ["!lone-one"] * 3
