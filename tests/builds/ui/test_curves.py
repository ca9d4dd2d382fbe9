"""The spectrum's labels: harmonics by their order, mains lines by their hertz, and none over another."""

from itertools import combinations

from builds.ui.drawings.curves import LABEL_HEIGHT, LABEL_WIDTH, spectrum_plot


def table(orders, mains=(50.0, 100.0), in_volts=True, with_tone=True):
    levels = {order: -20.0 - 2 * order for order in orders}
    made = {
        "in_volts": in_volts,
        "spectrum": {"hertz": [10.0, 1000.0, 24_000.0], "levels": [-120.0, 0.0, -120.0]},
        "hum": {"lines": [{"hertz": hertz, "rms": 1e-3} for hertz in mains]},
    }
    harmonics = [{"order": n, "level": level, "is_seen": True} for n, level in levels.items()]
    return made | ({"tone": {"hertz": 1000.0, "rms": 1.0, "harmonics": harmonics}} if with_tone else {})


def own_labels(plot):
    """Those of marks: the axes' stand beside and below the drawing."""
    places = [(mark.x, mark.y - 7) for mark in plot.marks]
    return [label for label in plot.labels if any(abs(label.x - x) < 0.1 and label.y >= y for x, y in places)]


def test_harmonics_are_labelled_by_their_order_and_mains_lines_by_their_hertz():
    labels = {label.text for label in own_labels(spectrum_plot(table((2, 3, 5))))}
    assert {"1", "2", "3", "5", "50", "100"} <= labels


def test_of_labels_that_would_lie_over_each_other_the_louder_stays():
    labels = own_labels(spectrum_plot(table(range(2, 11))))
    apart = [(abs(a.x - b.x), abs(a.y - b.y)) for a, b in combinations(labels, 2)]
    assert all(x >= LABEL_WIDTH or y >= LABEL_HEIGHT for x, y in apart)
    assert "2" in {label.text for label in labels}


def test_a_spectrum_s_mask_holds_the_one_it_is_made_of_and_not_one_that_lies_above_it():
    hertz = [10.0 * 1.08**n for n in range(100)]
    levels = [-100.0 + 40 * (n % 17 == 0) + 2 * (n % 3) for n in range(100)]
    first = table((2,)) | {"spectrum": {"hertz": hertz, "levels": [level + 4 for level in levels]}}
    other = table((2,)) | {"spectrum": {"hertz": hertz, "levels": levels}}
    plot = spectrum_plot(first, ("build 2", other), 3.0)
    (own,) = [curve for curve in plot.curves if curve.look == "curve-other"]
    (above,) = [curve for curve in plot.curves if curve.look == "curve"]
    boxes = [box for box in plot.boxes if box.look == "mask"]

    def is_held(x, y):
        return any(b.x - 0.1 <= x <= b.x + b.width + 0.1 and b.y - 0.1 <= y <= b.y + b.height + 0.1 for b in boxes)

    assert all(is_held(x, y) for x, y in own.points)
    assert not all(is_held(x, y) for x, y in above.points)


def test_each_unit_says_what_it_is_relative_to():
    """dB and dBr are told apart; dBV is dB re 1 V (common practice)."""
    texts = [
        {label.text for label in spectrum_plot(made).labels}
        for made in (table((2,)), table((), with_tone=False), table((), in_volts=False, with_tone=False))
    ]
    assert "dBr, relative to the fundamental" in texts[0]
    assert "dBV, relative to 1 V RMS" in texts[1]
    assert "dB, relative to full scale" in texts[2]
