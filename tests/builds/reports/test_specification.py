"""The specification sheet and the comparison of recordings: only what was measured, and better only beyond doubt."""

import json
from io import BytesIO
from types import SimpleNamespace

import numpy as np
import pytest
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from builds.bench.models import Recording
from builds.bench.readings.taking import take_reading
from builds.reports.specification.abbreviations import explain_measures
from builds.reports.specification.gather import _away_from_the_middle, _conditions
from builds.reports.specification.pdf import specification_pdf
from builds.review.amplifier.recorded import name_reference
from builds.ui.drawings.plot import Plot
from checks.derived import Estimate
from checks.measures import MEASURES
from checks.tone.comparison import Better, compare_levels
from tests import factories
from tests.builds.bench.test_figures import build, read, send, sound, tone  # noqa: F401

pytestmark = pytest.mark.django_db


@pytest.fixture
def designer(build):  # noqa: F811
    return build.revision.kit.designers.get()


def sheet(client, build, form="specification"):  # noqa: F811
    kit = build.revision.kit.key
    return client.get(reverse(f"reports:{form}", args=[kit, "A"]))


@pytest.mark.lengthy
def test_a_figure_that_nobody_measured_is_left_out(client, build, designer):  # noqa: F811
    client.force_login(designer)
    assert sheet(client, build).context["rows"] == []
    assert sheet(client, build, "specification-pdf").content.startswith(b"%PDF")
    assert json.loads(sheet(client, build, "specification-json").content)["figures"] == []
    take_reading(build, build.revision.stages.get().checks.get(key="full"), "6.32 V", by=build.builder)
    figures = [figure for figure, _spread in sheet(client, build).context["rows"]]
    assert [figure.check.key for figure in figures] == ["power"]
    assert figures[0].median == pytest.approx(6.32**2 / 8) and figures[0].low is None


def test_the_spread_is_that_of_the_builds(client, build, designer):  # noqa: F811
    check = build.revision.stages.get().checks.get(key="full")
    volts = (5.9, 6.0, 6.1, 6.2, 6.3)
    for v in volts:
        take_reading(factories.make_build(revision=build.revision), check, f"{v:.2f} V", by=build.builder)
    client.force_login(designer)
    (figure, _spread), *_rest = sheet(client, build).context["rows"]
    watts = np.array(volts) ** 2 / 8
    assert figure.builds == 5 and figure.median == pytest.approx(np.median(watts))
    assert (figure.low, figure.high) == pytest.approx(np.quantile(watts, (0.1, 0.9)))


@pytest.mark.lengthy
def test_page_paper_and_json_say_the_same(client, build, designer):  # noqa: F811
    send(client, build, 1, sound(tone()), meter_volts="2.83")
    name_reference(build.revision, build, designer)
    client.force_login(designer)
    page = sheet(client, build).content.decode()
    data = json.loads(sheet(client, build, "specification-json").content)
    text = "".join(
        p.extract_text() for p in PdfReader(BytesIO(sheet(client, build, "specification-pdf").content)).pages
    )
    assert {f["measure"] for f in data["figures"]} == {"distortion", "output volts"}
    for title in ("Distortion at 1 kHz", "Output while recorded"):
        assert title in page and title in text
    assert data["reference"] == build.serial and "plot" in page
    assert "Harmonic 2" in " ".join(text.split())  # the table behind the plot, on paper too
    (measured,) = data["builds"]
    assert measured["serial"] == build.serial and all(f["measured_on"] == [build.serial] for f in data["figures"])
    assert "48 kHz" in measured["instrument"] and measured["instrument"][:8] in text and measured["mains"] in page


def test_a_figure_s_load_is_that_of_the_readings_it_is_calculated_from():
    """A gain states no load of its own: it is that under which both volts were read."""
    signal = {"into": "in", "level": "1 mV", "frequency": "1 kHz", "load": "8.2R", "load_at": "out"}
    read_under = SimpleNamespace(stage_id=1, recording={}, signal=signal)
    gain = SimpleNamespace(stage_id=1, measure="gain", recording={}, formula={"of": ["tone", "source"]})
    every = {(1, "tone"): read_under, (1, "source"): SimpleNamespace(stage_id=1, recording={}, signal={})}
    assert "load 8.20 Ω" in list(_conditions(gain, every))
    assert not any(text.startswith("load") for text in _conditions(gain, {(1, "source"): every[1, "source"]}))
    impedance = SimpleNamespace(
        stage_id=1, measure="output impedance", recording={}, formula={"of": ["tone", "source"], "loads": ["18R", "8R"]}
    )
    loads = [text for text in _conditions(impedance, every) if text.startswith("load")]
    assert loads == ["load 18.0 Ω", "load 8.00 Ω"]


def test_every_figure_of_a_finished_amplifier_has_its_line_of_explanation():
    general = explain_measures(["no such measure"])
    for code in (code for code, measure in MEASURES.items() if not measure.is_read):
        terms = explain_measures([code])
        assert len(terms) == len(general) + 1, code
        assert all(line.endswith(".") for _term, line in terms)


@pytest.mark.lengthy
def test_the_sheet_says_which_valves_were_fitted_when_it_was_recorded(client, build, designer):  # noqa: F811
    fitted = {"ref": "V1", "make": "Northlight", "code": "LK 24"}
    send(client, build, 1, sound(tone()), meter_volts="2.83")
    Recording.objects.update(valves=[fitted])
    client.force_login(designer)
    (measured,) = json.loads(sheet(client, build, "specification-json").content)["builds"]
    assert measured["valves"] == [fitted | {"type": ""}]
    assert "Northlight LK 24" in sheet(client, build).content.decode()


def test_one_is_called_better_only_beyond_the_doubt():
    assert compare_levels(Estimate(-60, 0.1), Estimate(-50, 0.1)).better is Better.FIRST
    assert compare_levels(Estimate(-50, 0.1), Estimate(-60, 0.1)).better is Better.SECOND
    assert compare_levels(Estimate(-60, 3), Estimate(-57, 3)).better is Better.NEITHER
    assert compare_levels(Estimate(-60, 0.0), Estimate(-60.15, 0.0)).better is Better.NEITHER


def test_a_difference_that_reads_as_large_as_its_doubt_makes_none_better():
    """Shown as −0.6 ± 0.6, it was called better."""
    result = compare_levels(Estimate(-60.62, 0.2), Estimate(-60.0, 0.19))
    assert abs(result.value) > result.expanded and result.better is Better.NEITHER


def compared(client, build, designer, *pair):  # noqa: F811
    client.force_login(designer)
    url = reverse("review:recordings", args=[build.revision.kit.key, "A"])
    answer = client.get(url, {"first": pair[0].pk, "second": pair[1].pk})
    return answer.context["comparisons"][0]


@pytest.mark.lengthy
def test_distortion_at_another_output_makes_none_better(client, build, designer):  # noqa: F811
    """A tenth of the power has less distortion in any amplifier."""
    for second, volts in ((0.01, "2.83"), (0.02, "8.9")):
        send(client, build, 1, sound(tone(second=second)), meter_volts=volts)
    comparison = compared(client, build, designer, *Recording.objects.order_by("pk"))
    assert {row.difference.better for row in comparison.rows if row.difference} == {Better.UNKNOWN}
    assert any("8.90 V" in note for note in comparison.notes)


@pytest.mark.lengthy
def test_noise_makes_none_better_while_a_card_s_own_is_unknown(client, build, designer):  # noqa: F811
    send(client, build, 1, sound(tone()), meter_volts="2.83")
    hum = 1e-3 * np.sin(2 * np.pi * 100 * np.arange(48_000 * 6) / 48_000)
    for level in (1e-4, 1e-3):
        send(client, build, 2, sound(hum + level * np.random.default_rng(1).standard_normal(len(hum))))
    comparison = compared(client, build, designer, *Recording.objects.filter(plan__signal="silence").order_by("pk"))
    rows = {row.name: row.difference.better for row in comparison.rows}
    hums = [rows.pop(name) for name in list(rows) if name.startswith("Hum")]
    assert hums == [Better.NEITHER] * 2 and set(rows.values()) == {Better.UNKNOWN}
    assert len(comparison.notes) == 1


@pytest.mark.lengthy
def test_two_recordings_are_laid_over_each_other(client, build, designer):  # noqa: F811
    for second in (0.01, 0.02):
        send(client, build, 1, sound(tone(second=second)), meter_volts="2.83")
    two, one = Recording.objects.all()
    client.force_login(designer)
    url = reverse("review:recordings", args=[build.revision.kit.key, "A"])
    answer = client.get(url, {"first": one.pk, "second": two.pk})
    rows = {row.name: row for row in answer.context["comparisons"][0].rows}
    assert rows["Harmonic 2"].difference.value == pytest.approx(-6.0, abs=0.2)
    assert rows["Harmonic 2"].difference.better is Better.FIRST
    assert len(answer.context["comparisons"][0].plots) == 1
    for first, second in ((one.pk, one.pk), (one.pk, 999), ("x", two.pk)):
        refused = client.get(url, {"first": first, "second": second})
        assert refused.status_code == 200 and refused.context["problem"] and not refused.context["comparisons"]


def test_a_build_of_another_revision_is_no_reference(client, build, designer):  # noqa: F811
    client.force_login(designer)
    url = reverse("review:reference", args=[build.revision.kit.key, "A"])
    assert client.post(url, {"build": factories.make_build().pk}).status_code == 404
    assert client.post(url, {"build": build.pk}).status_code == 302
    assert build.revision.reference.build == build


def test_no_recorded_check_is_asked_for_where_the_guide_has_them(client, build, designer):  # noqa: F811
    client.force_login(designer)
    plain = factories.make_revision(designer=designer)
    pages = [client.get(reverse("review:recordings", args=[kit.key, "A"])) for kit in (build.revision.kit, plain.kit)]
    assert [b"Add a recorded check" in page.content for page in pages] == [False, True]


@pytest.mark.lengthy
def test_the_figures_begin_on_the_first_page_however_many_they_are():
    check = SimpleNamespace(title="Output power", unit="W")
    figure = SimpleNamespace(check=check, median=4.36, low=4.27, high=4.48, builds=4, conditions=["load 8.20 Ω"] * 3)
    revision = SimpleNamespace(name="Test amplifier", letter="A", mains_volts=230, mains_hertz=50)
    for count in (1, 24, 60):
        made = SimpleNamespace(
            revision=revision, made_at=timezone.now(), figures=[figure] * count, valves=[], measured_on=[], plots=[],
            measured=[],
        )  # fmt: skip
        pages = [page.extract_text() for page in PdfReader(BytesIO(specification_pdf(made))).pages]
        assert "Measured figures" in pages[0] and "Output power" in pages[0]
        assert sum(page.count("Output power") for page in pages) == count


@pytest.mark.lengthy
def test_the_heading_of_the_plots_is_on_the_page_of_the_first():
    revision = SimpleNamespace(name="Test amplifier", letter="A", mains_volts=230, mains_hertz=50)
    plot = Plot("The response.", 400, 220, (), ("Hz",), (("10",),))
    valve = ("V1", "ECC83", "12AX7")
    for count in range(10, 40, 5):
        made = SimpleNamespace(
            revision=revision, made_at=timezone.now(), figures=[], valves=[valve] * count, measured_on=[],
            plots=[plot, plot], reference=SimpleNamespace(serial="07"), measured=[],
        )  # fmt: skip
        pages = [page.extract_text() for page in PdfReader(BytesIO(specification_pdf(made))).pages]
        assert "The response." in next(page for page in pages if "Plots of build" in page)


def test_each_tone_has_its_spectrum_and_the_one_nearest_1_khz_is_first():
    def row(signal, *hertz):
        return SimpleNamespace(plan={"signal": signal, "hertz": list(hertz)})

    rows = [row("tone", 40.0), row("sweep", 8.0, 22_000.0), row("tone", 10_000.0), row("tone", 1000.0)]
    ordered = sorted(rows, key=_away_from_the_middle)
    assert [one.plan["hertz"][0] for one in ordered] == [1000.0, 10_000.0, 40.0, 8.0]


@pytest.mark.lengthy
def test_a_plot_of_a_tone_says_which_tone_it_is_of(client, build, designer):  # noqa: F811
    send(client, build, 1, sound(tone()), meter_volts="2.83")
    name_reference(build.revision, build, designer)
    client.force_login(designer)
    assert [plot.description.split(".")[0] for plot in sheet(client, build).context["sheet"].plots] == ["Tone, 1"]
    assert "Tone, 1.00" in sheet(client, build).content.decode()
