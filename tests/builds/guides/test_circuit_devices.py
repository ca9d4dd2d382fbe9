"""Transistors and other devices in guide files and the editor: imported, written out again, refused when incomplete."""

import pytest
from django.urls import reverse

from builds.guides.circuit import stored
from builds.guides.guide_file import GuideErrors, read_guide, store_guide, write_guide
from builds.guides.probes import ProbeMap
from tests import factories
from tests.builds.guides.part_fields import posted
from tests.builds.guides.test_circuit import GUIDE

pytestmark = pytest.mark.django_db
FOLLOWER = """[[part]]
ref = "Q1"
kind = "n-channel mosfet"
joins = { gate = "mid", drain = "ht", source = "out" }
pins = { gate = "1", drain = "2", source = "3" }
model = { threshold = 3.5 }
power = "10 W"
volts = "500 V"
[[part]]
ref = "R3"
kind = "resistor"
value = "47k"
power = "2W"
joins = ["out", "chassis"]
"""


def with_parts(parts: str) -> bytes:
    return GUIDE.replace("[[stage]]", parts + "[[stage]]", 1).replace('red = "mid"', 'red = "out"').encode()


@pytest.fixture
def designer():
    return factories.make_designer()


@pytest.fixture
def page(client, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.mark.lengthy
def test_a_guide_with_a_source_follower_comes_out_as_it_went_in(designer):
    draft = store_guide(read_guide(with_parts(FOLLOWER)), designer)
    again = read_guide(write_guide(draft).encode())
    part = next(p for p in again["part"] if p["ref"] == "Q1")
    assert part["joins"] == {"gate": "mid", "drain": "ht", "source": "out"} and part["model"] == {"threshold": 3.5}


@pytest.mark.lengthy
def test_a_follower_left_to_the_model_gets_a_figure_and_its_assumed_data_are_shown(page, designer):
    """Half of some 270 V less 3.5 V and a little: a source follows its gate."""
    draft = store_guide(read_guide(with_parts(FOLLOWER)), designer)
    stored.figures_or_job(draft)
    detail = stored.saved_figures(draft).detail
    assert 120 < detail["checks"]["power/mid"]["value"] < 145
    assert [row["of"] for row in detail["assumed_figures"]] == ["transconductance"]
    body = page.get(reverse("guides:circuit", args=[draft.kit.key, draft.letter])).content.decode()
    assert "Assumed component data" in body and "Threshold voltage" in body


@pytest.mark.parametrize(
    "wrong",
    [
        FOLLOWER.replace("threshold = 3.5", "gain = 100"),
        FOLLOWER.replace("threshold = 3.5", "transconductance = 2"),
        FOLLOWER.replace(', source = "out" }\npins', " }\npins"),
    ],
)
def test_an_incomplete_transistor_is_refused_at_import(wrong):
    with pytest.raises(GuideErrors) as refused:
        read_guide(with_parts(wrong))
    assert any("Q1" in str(t) for t in refused.value.problems)


def test_the_editor_takes_a_transistor(page, designer):
    draft = factories.make_revision(designer=designer, issued=False)
    detail = """joins = { gate = "reg.gate", drain = "ht.main", source = "reg.out" }
model = { threshold = 3, transconductance = 4.9, amps = 4.8 }
power = "20 W"
volts = "500 V"
"""
    part = posted(detail, ref="Q1", kind="n-channel mosfet", quantity="1")
    address = reverse("guides:add", kwargs={"kit": draft.kit.key, "letter": draft.letter, "kind": "part"})
    assert page.post(address, part).status_code == 302
    assert draft.parts.get(ref="Q1").detail["model"]["threshold"] == 3


BASE = """[[part]]
ref = "R3"
kind = "resistor"
value = "4k7"
power = "2W"
joins = ["out", "chassis"]
"""
EMITTER_FOLLOWER = """[[part]]
ref = "Q1"
kind = "npn transistor"
joins = { base = "mid", collector = "ht", emitter = "out" }
pins = { base = "1", collector = "2", emitter = "3" }
model = { gain = 60 }
"""
REGULATOR = """[[part]]
ref = "U1"
kind = "regulator"
value = "12 V"
joins = { input = "raw", output = "out", common = "chassis" }
pins = { input = "1", common = "2", output = "3" }
model = { dropout = 2 }
[[part]]
ref = "PS1"
kind = "dc supply"
value = "24 V"
amps = "1 A"
joins = { plus = "raw", minus = "chassis" }
"""
BATTERY = """[[part]]
ref = "B1"
kind = "battery"
value = "9 V"
ohms = "1R"
joins = { plus = "out", minus = "chassis" }
"""
OP_AMP = """[[part]]
ref = "U2"
kind = "op-amp"
joins = { plus_input = "chassis", minus_input = "sum", output = "out", plus_supply = "v+", minus_supply = "v-" }
pins = { output = "1", minus_input = "2", plus_input = "3", minus_supply = "4", plus_supply = "8" }
model = { headroom = 1.5 }
[[part]]
ref = "PS1"
kind = "dc supply"
value = "15 V"
joins = { plus = "v+", minus = "chassis" }
[[part]]
ref = "PS2"
kind = "dc supply"
value = "15 V"
joins = { plus = "chassis", minus = "v-" }
[[part]]
ref = "R8"
kind = "resistor"
value = "10k"
joins = ["v+", "sum"]
[[part]]
ref = "R9"
kind = "resistor"
value = "4k7"
joins = ["sum", "out"]
"""
NEON = """[[part]]
ref = "NE1"
kind = "neon"
value = "60 V"
model = { strike = 85 }
joins = ["out", "chassis"]
[[part]]
ref = "R8"
kind = "resistor"
value = "220k"
joins = ["ht", "out"]
"""
THERMISTOR = """[[part]]
ref = "TH1"
kind = "thermistor"
value = "100R"
ohms = "2R"
amps = "1 A"
joins = ["ht", "out"]
"""
# (parts, V at the node "out": from the kit's 270 V or from the parts' own volts; closed forms)
DEVICES = {
    "bipolar transistor": (EMITTER_FOLLOWER + BASE, 85, 140),  # 50 kilohm into a gain of 60: some 15 % below the middle
    "regulator": (REGULATOR + BASE, 11.9, 12.1),
    "battery": (BATTERY + BASE, 8.99, 9.01),
    "op-amp": (OP_AMP + BASE, -7.2, -6.9),  # -15 V x 4.7/10
    "neon lamp": (NEON, 60, 63),
    "thermistor": (THERMISTOR + BASE, 240, 280),
}


FEW = 100  # builds drawn: what is looked at is the figure of the parts as marked


def figure_at(draft, check="power/mid"):
    return stored.compute_figures(draft, samples=FEW).detail["checks"][check]


@pytest.mark.lengthy
@pytest.mark.parametrize("what", DEVICES)
def test_each_device_comes_out_of_a_guide_as_it_went_in_and_gets_a_figure(designer, what):
    parts, low, high = DEVICES[what]
    data = read_guide(with_parts(parts))
    draft = store_guide(data, designer)
    again = read_guide(write_guide(draft).encode())
    assert [{k: v for k, v in p.items() if v} for p in again["part"]] == [
        {k: v for k, v in p.items() if v} for p in data["part"]
    ]
    assert low < figure_at(draft)["value"] < high


@pytest.mark.parametrize(
    ("parts", "wrong", "right", "ref"),
    [
        (EMITTER_FOLLOWER + BASE, "gain = 60", "threshold = 3", "Q1"),
        (REGULATOR + BASE, "dropout = 2", "headroom = 2", "U1"),
        (REGULATOR + BASE, 'output = "out", ', "", "U1"),
        (REGULATOR + BASE, 'value = "24 V"\n', "", "PS1"),
        (BATTERY + BASE, 'plus = "out", ', "", "B1"),
        (OP_AMP + BASE, "headroom = 1.5", "gain = 1e5", "U2"),
        (OP_AMP + BASE, 'minus_input = "sum", ', "", "U2"),
        (NEON, "strike = 85", "strike = 55", "NE1"),
        (THERMISTOR + BASE, 'ohms = "2R"\n', "", "TH1"),
    ],
)
def test_an_incomplete_device_is_refused_at_import_by_its_reference(parts, wrong, right, ref):
    assert wrong in parts
    with pytest.raises(GuideErrors) as refused:
        read_guide(with_parts(parts.replace(wrong, right, 1)))
    assert any(ref in str(t) for t in refused.value.problems)


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("kind", "value", "detail"),
    [
        ("npn transistor", "", 'joins = { base = "b", collector = "c", emitter = "e" }\nmodel = { gain = 80 }'),
        ("regulator", "5 V", 'joins = { input = "i", output = "o", common = "chassis" }\nmodel = { dropout = 1.2 }'),
        ("dc supply", "12 V", 'joins = { plus = "p", minus = "chassis" }\nohms = "0.2R"'),
        ("battery", "9 V", 'joins = { plus = "p", minus = "chassis" }'),
        ("neon", "60 V", 'joins = ["n", "chassis"]\nmodel = { strike = 85 }'),
        ("thermistor", "120R", 'joins = ["mains.live", "mains.fused"]\nohms = "1.5R"\namps = "2 A"'),
        (
            "op-amp",
            "",
            'joins = { plus_input = "p", minus_input = "m", output = "o", plus_supply = "h", minus_supply = "l" }',
        ),
    ],
)
def test_the_editor_takes_each_device_wired_or_not_yet(page, designer, kind, value, detail):
    draft = factories.make_revision(designer=designer, issued=False)
    address = reverse("guides:add", kwargs={"kit": draft.kit.key, "letter": draft.letter, "kind": "part"})
    row = {"ref": "X9", "kind": kind, "value": value, "quantity": "1"}
    assert page.post(address, row | {"ref": "X8"}).status_code == 302
    assert page.post(address, posted(detail, **row)).status_code == 302
    assert {part.kind for part in draft.parts.filter(ref__in=("X8", "X9"))} == {kind}
    assert page.post(address, row | {"ref": "X7", "ends-0-point": "a"}).status_code == 422  # of which terminal?
    assert not draft.parts.filter(ref="X7").exists()


@pytest.mark.lengthy
def test_a_lead_of_a_transistor_is_a_probe_point_in_file_figure_and_words(designer):
    data = with_parts(FOLLOWER).decode().replace('red = "out"', 'red = "Q1.3"').encode()
    draft = store_guide(read_guide(data), designer)
    assert 120 < figure_at(draft)["value"] < 145
    assert ProbeMap.of(draft).probe("Q1.3").location == "Q1 lead 3 (source)"


def test_a_lead_that_a_transistor_does_not_have_is_refused():
    with pytest.raises(GuideErrors) as refused:
        read_guide(with_parts(FOLLOWER).decode().replace('red = "out"', 'red = "Q1.4"').encode())
    assert any("Q1.4" in str(t) for t in refused.value.problems)


def test_a_lead_on_the_mains_side_is_refused():
    parts = FOLLOWER.replace('drain = "ht"', 'drain = "mains.live"')
    with pytest.raises(GuideErrors) as refused:
        read_guide(with_parts(parts).decode().replace('red = "out"', 'red = "Q1.2"').encode())
    assert any("mains" in str(t).lower() for t in refused.value.problems)


@pytest.mark.lengthy
def test_the_circuit_page_states_the_inrush_that_a_thermistor_leaves(page, designer):
    data = GUIDE.replace('joins = ["mains.live", "mains.neutral"]', 'joins = ["mains.hot", "mains.neutral"]', 1)
    limiter = THERMISTOR.replace('["ht", "out"]', '["mains.live", "mains.hot"]')
    inlet = """[[part]]
ref = "P1"
kind = "connector"
joins = { live = "mains.live", neutral = "mains.neutral" }
"""
    draft = store_guide(read_guide(data.replace("[[stage]]", limiter + inlet + "[[stage]]", 1).encode()), designer)
    stored.figures_or_job(draft)
    (row,) = stored.saved_figures(draft).detail["inrush"]
    assert row["amps"] < row["without"] and list(row["thermistors"]) == ["TH1"]
    assert "TH1" in page.get(reverse("guides:circuit", args=[draft.kit.key, draft.letter])).content.decode()
