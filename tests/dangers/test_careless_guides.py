"""Guides that a careless designer would write, sent through the import page as they are: each is refused there, or
stands against issuing with a word of its own, so that nothing of it reaches a builder silently."""

import tomllib
from types import SimpleNamespace

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from builds.bench.diagnosis.designer_hints import for_reading
from builds.guides.circuit.stored import compute_figures
from builds.guides.dangerous_words import Order, asks_live, orders_in
from builds.guides.figures import band_for
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.walk import Walker
from builds.guides.models import Check, Revision
from builds.guides.objections import Level, objections_to
from builds.guides.revisions import ReasonNeeded, issue_reviewed
from tests import factories

pytestmark = pytest.mark.django_db
KIT = """format = 1
[kit]
key = "careless"
name = "Careless"
revision = "A"
mains = { volts = 230, hertz = 50 }
[[part]]
ref = "T1"
kind = "mains transformer"
[[part.winding]]
name = "primary"
volts = "230 V"
ohms = "20R"
joins = ["mains.live", "mains.neutral"]
[[part.winding]]
name = "ht"
volts = "230 V"
amps = "80 mA"
ohms = "100R"
joins = ["ac", "chassis"]
[[part.winding]]
name = "heater"
volts = "6.3 V"
amps = "2 A"
ohms = "0.1R"
joins = ["h.a", "chassis"]
[[part]]
ref = "D1"
kind = "diode"
type = "1N4007"
joins = { anode = "ac", cathode = "ht" }
[[part]]
ref = "C1"
kind = "electrolytic"
value = "47u"
volts = "450 V"
joins = ["ht", "chassis"]
[[part]]
ref = "R1"
kind = "resistor"
value = "100k"
power = "3 W"
joins = ["ht", "chassis"]
[[part]]
ref = "V1"
kind = "pentode"
type = "EL84"
base = "B9A"
pins = { anode = "7", screen = "9", grid = "2", cathode = "3", heater = ["4", "5"] }
joins = { anode = "ht", screen = "ht", grid = "g", cathode = "k", heater = ["h.a", "chassis"] }
[[part]]
ref = "R2"
kind = "resistor"
value = "270R"
power = "3 W"
joins = ["k", "chassis"]
[[part]]
ref = "R3"
kind = "resistor"
value = "470k"
joins = ["g", "chassis"]
[[stage]]
key = "cold"
title = "Cold checks"
gate = true
[[stage.step]]
key = "look"
text = "Look along every joint."
[[stage.check]]
key = "earth"
title = "Earth bond"
measure = "continuity"
red = "=the earth pin of the plug, pulled out of the wall"
at_most = "0.5R"
[[stage]]
key = "first"
title = "First power"
power = "on"
gate = true
cautions = ["lethal-voltage", "one-hand", "discharge"]
not_fitted = ["V1"]
[[stage.step]]
key = "on"
text = "Switch on through the series lamp."
[[stage.check]]
key = "bplus"
title = "B+"
measure = "dc volts"
red = "ht"
expected = "318 V"
band = "8%"
stop_above = "440 V"
[[stage]]
key = "valves"
title = "Valves in"
power = "on"
cautions = ["lethal-voltage", "one-hand", "discharge"]
[[stage.step]]
key = "fit"
text = "Switch off. Unplug. Log a made safe reading. Only then fit V1."
hands_in = true
parts = ["V1"]
[[stage.check]]
key = "k"
title = "Cathode"
measure = "dc volts"
red = "k"
expected = "model"
stop_above = "20 V"
"""
BPLUS = 'expected = "318 V"\nband = "8%"\nstop_above = "440 V"\n'
FIT = 'text = "Switch off. Unplug. Log a made safe reading. Only then fit V1."\nhands_in = true\nparts = ["V1"]\n'
ON = 'text = "Switch on through the series lamp."\n'
VALVES = '[[stage]]\nkey = "valves"'
LIVE = '[[stage.check]]\nkey = "more"\ntitle = "More"\nmeasure = "{}"\nred = "{}"\nblack = "{}"\n{}\n' + VALVES
GATE = 'gate = true\n[[stage.step]]\nkey = "look"'


def more(measure, red, black, figures):
    return VALVES, LIVE.format(measure, red, black, figures)


LAST = """[[stage]]
key = "signing-off"
title = "Signing off"
{}[[stage.step]]
key = "play"
text = "Plug in and play."
[[stage.check]]
key = "bond"
title = "Last earth bond"
measure = "continuity"
red = "=the earth pin of the plug, pulled out of the wall"
at_most = "0.5R"
[[stage.check]]
key = "iso"
title = "Last isolation"
measure = "isolation"
red = "=both blades of the plug, pulled out of the wall"
at_least = "5M"
"""
LATER = """[[stage]]
key = "lid"
title = "Lid"
[[stage.step]]
key = "screws"
text = "Put the lid on."
"""


AC = 'expected = "230 V"\nband = "10%"\nstop_above = "270 V"'
REFUSED = {
    "an ohmmeter on a live circuit": more("resistance", "ht", "chassis", 'expected = "100k"\nband = "10%"'),
    "continuity under power": more("continuity", "k", "chassis", 'at_most = "300R"'),
    "insulation under power": more("isolation", "ht", "chassis", 'at_least = "90k"'),
    "the mains by its node": more("ac volts", "mains.live", "mains.neutral", AC),
    "the mains by an alias": more("ac volts", "=pin L of the inlet", "chassis", AC),
    "a tap that is no tap": ('name = "ht"\nvolts = "230 V"', 'name = "ht"\nvolts = "230 V"\ntaps = [115, 230]'),
    "a primary for half the mains": ('volts = "230 V"\nohms = "20R"', 'volts = "115 V"\nohms = "20R"'),
    "a stop in millivolts": (BPLUS, BPLUS.replace("440 V", "440 mV")),
    "volts in amps": (BPLUS, BPLUS.replace("318 V", "318 mA")),
    "a source that no meter reads behind": (BPLUS, BPLUS + 'source_resistance = "1G"\n'),
}
OBJECTED = {
    "a stop past the capacitor": ((BPLUS, BPLUS.replace("440 V", "900 V")), "stop-past-rating"),
    "a stop in kilovolts": ((BPLUS, BPLUS.replace("440 V", "440 kV")), "stop-past-rating"),
    "a band past the capacitor, with a stop behind it": (
        (BPLUS, 'low = "290 V"\nhigh = "600 V"\nstop_above = "650 V"\n'),
        "band-past-rating",
    ),
    "a figure a thousand times too large": (
        (BPLUS, BPLUS.replace("318 V", "318 kV").replace("440 V", "440 kV")),
        "contradicted",
    ),
    "a source resistance of another point": ((BPLUS, BPLUS + 'source_resistance = "2M2"\n'), "source-contradicted"),
    "a dead supply in band": (
        (BPLUS, 'expected = "318 V"\nlow = "-5 V"\nhigh = "340 V"\nstop_above = "440 V"\n'),
        "nothing-passes",
    ),
    "a dead supply below an upper limit alone": (
        (BPLUS, 'at_most = "340 V"\nstop_above = "440 V"\n'),
        "nothing-passes",
    ),
    "a dead supply within a hundred per cent": ((BPLUS, 'expected = "20 V"\nband = "100%"\n'), "nothing-passes"),
    "valves that go in unseen": ((FIT, 'text = "Warm up for three minutes."\n'), "fitted-unseen"),
    "valves that go in behind the readings with them": (
        ('[[stage.step]]\nkey = "fit"', 'order = ["k", "fit"]\n[[stage.step]]\nkey = "fit"'),
        "fitted-late",
    ),
    "valves fitted live, in words": (
        (FIT, 'text = "Now push V1 into its socket and watch it glow."\n'),
        "words-hands-in",
    ),
    "valves fitted live, by parts": ((FIT, 'text = "V1, pins straight."\nparts = ["V1"]\n'), "unmarked-hands-in"),
    "soldering under power": ((ON, 'text = "If it hums, solder C1 again."\n'), "words-hands-in"),
    "the mains in a step": ((ON, 'text = "Measure the mains at the inlet: 230 V."\n'), "words-mains"),
    "the mains in a note": ((BPLUS, BPLUS + 'note = "If low, put your meter on the mains fuse."\n'), "words-mains"),
    "the mains in a hint": (
        (BPLUS, BPLUS + '[[stage.check.hint]]\nwhen = "low"\ntext = "Probe the live pin of S1."\n'),
        "words-mains",
    ),
    "an earth that is lifted": ((ON, 'text = "If it hums, lift the earth off its stud."\n'), "words-earth"),
    "power in a stage without power": (
        ('text = "Look along every joint."', 'text = "Switch on and look for smoke."'),
        "words-switch-on",
    ),
    "plugged in before the last checks": (("END", LAST.format("")), "switch-on-first"),
    "plugged in between the last checks": (
        ("END", LAST.format('order = ["bond", "play", "iso"]\n')),
        "switch-on-first",
    ),
    "plugged in before the last stage": (("END", LAST.format("") + LATER), "words-switch-on"),
    "the mains by the colour of its wires": (
        more("ac volts", "=the brown wire at the switch", "=the blue wire at the switch", AC),
        "like-the-mains",
    ),
    "a transformer for half the mains, in its note": (
        ('kind = "mains transformer"\n', 'kind = "mains transformer"\nnote = "Primary 115 V, 2 x 115 V"\n'),
        "other-mains",
    ),
    "live volts in a stage without power": (
        (
            "END",
            LATER + '[[stage.check]]\nkey = "live"\ntitle = "Live"\nmeasure = "dc volts"\nred = "=the red wire"\n'
            'black = "chassis"\nexpected = "250 V"\nband = "10%"\n',
        ),
        "live-unpowered",
    ),
    "live alternating volts in a stage without power": (
        (
            "END",
            LATER + '[[stage.check]]\nkey = "live"\ntitle = "Live"\nmeasure = "ac volts"\nred = "=the tag"\n'
            'black = "chassis"\nat_least = "60 V"\n',
        ),
        "live-unpowered",
    ),
    "lethal volts without their caution": (
        ('cautions = ["lethal-voltage", "one-hand", "discharge"]\nnot_fitted', 'cautions = ["hot-glass"]\nnot_fitted'),
        "unwarned",
    ),
    "lethal alternating volts without their caution": (
        (
            'cautions = ["lethal-voltage", "one-hand", "discharge"]\n[[stage.step]]\nkey = "fit"',
            'cautions = ["discharge"]\n[[stage.check]]\nkey = "ac"\ntitle = "Winding"\nmeasure = "ac volts"\n'
            'red = "ac"\n' + AC + '\n[[stage.step]]\nkey = "fit"',
        ),
        "unwarned",
    ),
    "no gate before the power": (
        ('gate = true\n[[stage.step]]\nkey = "look"', '[[stage.step]]\nkey = "look"'),
        "no-gate",
    ),
}


@pytest.fixture
def designer(client):
    person = factories.make_designer()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return person


def imported(client, change=("", "")):
    old, new = change
    assert not old or old in KIT or old == "END"
    text = KIT + new if old == "END" else KIT.replace(old, new, 1) if old else KIT
    file = SimpleUploadedFile("guide.toml", text.encode(), content_type="application/toml")
    answer = client.post(reverse("guides:import"), {"guide": file})
    return answer, Revision.objects.filter(kit__key="careless").first()


def serious(revision) -> set[str]:
    compute_figures(revision, 100)
    return {o.code for o in objections_to(revision) if o.level is not Level.SHOWN}


@pytest.mark.lengthy
def test_a_careful_guide_has_nothing_serious_against_it(client, designer):
    _answer, revision = imported(client)
    assert serious(revision) == set()


@pytest.mark.lengthy
def test_a_kit_that_is_plugged_in_behind_its_last_checks_is_fine(client, designer):
    _answer, revision = imported(client, ("END", LAST.format('order = ["bond", "iso", "play"]\n')))
    assert [step.key for step in load_guide(revision).stages[-1].items] == ["bond", "iso", "play"]
    assert serious(revision) == set()


@pytest.mark.lengthy
@pytest.mark.parametrize("figures", ['at_most = "60 V"', 'expected = "1.5 V"\nband = "20%"'])
def test_a_kit_found_discharged_and_a_cell_need_no_power(client, designer, figures):
    check = '[[stage.check]]\nkey = "dead"\ntitle = "Dead"\nmeasure = "dc volts"\nred = "=the red wire"\n'
    _answer, revision = imported(client, ("END", LATER + check + f'black = "chassis"\n{figures}\n'))
    assert "live-unpowered" not in serious(revision)


@pytest.mark.parametrize("change", REFUSED.values(), ids=REFUSED)
def test_a_dangerous_guide_is_refused_at_the_import_page(client, designer, change):
    answer, revision = imported(client, change)
    assert (answer.status_code, revision) == (422, None)
    assert answer.context["problems"]


@pytest.mark.lengthy
@pytest.mark.parametrize(("change", "code"), OBJECTED.values(), ids=OBJECTED)
def test_a_dangerous_guide_is_not_issued_without_a_written_reason(client, designer, change, code):
    answer, revision = imported(client, change)
    assert revision is not None, answer.content.decode()[:2000]
    assert code in serious(revision)
    with pytest.raises(ReasonNeeded):
        issue_reviewed(revision)


@pytest.mark.lengthy
def test_a_lower_stop_alone_leaves_the_upper_one_to_the_parts(client, designer):
    """Otherwise 900 V on a 450 V capacitor would be out of band, and no more."""
    _answer, revision = imported(client, (BPLUS, BPLUS.replace('stop_above = "440 V"', 'stop_below = "100 V"')))
    row = next(c for stage in load_guide(revision).stages for c in stage.checks.all() if c.key == "bplus")
    band = band_for(row)
    assert (band.stop_below, band.stop_above) == (100.0, 450.0)
    assert Check.objects.get(key="bplus").stop_above == ""


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("Measure across the primary tags of the mains transformer with your meter.", Order.MEASURE_MAINS),
        ("Miss an der Primärwicklung des Netztrafos.", Order.MEASURE_MAINS),
        ("Measure the mains voltage at the inlet with your meter.", Order.MEASURE_MAINS),
        ("Put the red probe on the live tag of the switch.", Order.MEASURE_MAINS),
        ("Miss die Netzspannung am Schalter.", Order.MEASURE_MAINS),
        ("If it hums, disconnect the mains earth.", Order.LIFT_EARTH),
        ("Klemme den Schutzleiter ab, wenn es brummt.", Order.LIFT_EARTH),
        ("Then solder R4 again.", Order.HANDS_IN),
        ("Pull out V2 and look.", Order.HANDS_IN),
        ("Stecke die Röhren ein.", Order.HANDS_IN),
        ("**Switch on** and wait.", Order.SWITCH_ON),
        ("Schalte das Gerät ein.", Order.SWITCH_ON),
        ("Einschalten und zwei Minuten warten.", Order.SWITCH_ON),
        ("Gerät einschalten.", Order.SWITCH_ON),
        ("Plug it in and switch on.", Order.SWITCH_ON),
        ("Plug in and play.", Order.SWITCH_ON),
        ("Now plug the mains lead in.", Order.SWITCH_ON),
        ("Only with both readings right: plug in, connect a guitar and play.", Order.SWITCH_ON),
        ("Connect the kit to the mains.", Order.SWITCH_ON),
        ("Stecke den Netzstecker in die Dose.", Order.SWITCH_ON),
        ("Rö1 einsetzen und zwei Minuten warten.", Order.HANDS_IN),
        ("Wenn es brummt, C1 nachlöten.", Order.HANDS_IN),
        ("Dann die Röhren wechseln.", Order.HANDS_IN),
    ],
)
def test_plain_orders_are_found(text, order):
    assert order in orders_in(text)


@pytest.mark.parametrize(
    "text",
    [
        "Never measure the mains with ordinary probes.",
        "Read the mains voltage on a plug-in meter.",
        "With the plug out of the wall, measure from its live pin to chassis.",
        "Measure the earth pin of the inlet against chassis.",
        "The mains transformer hums a little.",
        "Do not lift the earth to cure hum.",
        "Scrape the paint off round the earth hole.",
        "Do not solder under power.",
        "The soldered joints shine.",
        "Three minutes before the first reading: the valves warm up together.",
        "Turn RV1 up.",
        "Plug in the loudspeaker.",
        "Plug the phono leads in.",
        "Pull the plug out of the wall.",
        "Connect the earth lead to the chassis.",
        "Ziehe den Netzstecker aus der Dose.",
        "Leave the switch on for the next reading.",
        "Vor dem Einschalten alles noch einmal ansehen.",
        "Noch nicht einschalten.",
        "Beim Einschalten glimmt die Lampe kurz.",
        "C1 entladen und messen.",
        "Die Prüfspitze an R5 ansetzen.",
    ],
)
def test_what_forbids_it_or_has_no_probe_is_left_alone(text):
    assert orders_in(text) == set()


LIVE_HINTS = (
    "Measure the grid of V2 with the power on.",
    "Measure pin 2.",
    "Read the cathode voltage again.",
    "Switch on again and see whether it still hums.",
    "If pin 2 reads more than 0.5 V, C8 leaks.",
    "Look at C8. Then measure the bias.",
    "Miss die Spannung am Gitter.",
    "Vergleiche die Spannung mit der an V1.",
)


@pytest.mark.parametrize("text", LIVE_HINTS)
def test_a_hint_that_asks_for_a_live_reading_in_words_alone_is_known(text):
    assert asks_live(text)


@pytest.mark.parametrize(
    "text",
    [
        "Look at R2.",
        "Measure R5 with the power off.",
        "Measure the resistance of R5.",
        "Never measure this with the power on.",
        "Twelve volts or more: the primary is wired for the wrong mains. Switch off at once.",
        "C8 leaks. With this voltage on its grid the EL84 would run away: change C8 before the valves go in.",
        "The live wire touches the chassis.",
        "Miss R5, ausgeschaltet.",
    ],
)
def test_a_hint_for_the_cold_kit_stays(text):
    assert not asks_live(text)


@pytest.mark.parametrize(("live", "wanted"), [(True, 3), (False, 1)])
def test_while_the_power_must_stay_off_no_hint_asks_for_it_in_words(live, wanted):
    check = Check(hints=[{"when": "high", "text": text} for text in ("Look at R2.", *LIVE_HINTS[:2])])
    reading = SimpleNamespace(outcome="switch off", deviation=2.0)
    allowed = SimpleNamespace(live=live, stopped=not live, allows_check=lambda check: live)
    texts, _after = for_reading(check, reading, SimpleNamespace(checks={}), allowed)
    assert len(texts) == wanted and texts[0] == "Look at R2."


@pytest.mark.parametrize("place", ["=", "= ", "=\u00a0"])
def test_a_probe_with_an_equals_sign_and_no_words_goes_nowhere_and_is_refused(place):
    for end in ('red = "ht"', 'red = "ht"\nblack = "chassis"'):
        wrong = end.replace('"ht"' if "black" not in end else '"chassis"', f'"{place}"')
        problems = Walker(tomllib.loads(KIT.replace('red = "ht"', wrong, 1)), frozenset()).problems()
        assert any(place in problem.message for problem in problems)
    assert not [*Walker(tomllib.loads(KIT), frozenset()).problems()]
