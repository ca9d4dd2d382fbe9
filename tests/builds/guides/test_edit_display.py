"""Edits as a person reads them."""

from builds.guides.edit_display import edit_lines, whole
from builds.ui.rich_text import quote


def edit(field, before, after, where="Signal board, step 12"):
    return {"where": where, "field": field, "before": before, "after": after}


def test_figures_are_one_change_and_words_differ_by_word():
    figure, text = edit_lines(
        [
            edit("expected", "262 V", "231 V", "V1"),
            edit("band", "6%", "", "V1"),
            edit("low", "", "218 V", "V1"),
            edit("text", "C9 to **pin 3**.", "C9 to **pin 4**."),
            edit("high", "", "244 V", "V1"),
        ]
    )
    assert (figure.where, figure.what) == ("V1", "figure and band")
    assert [(p.kind, p.text) for p in figure.pieces] == [
        ("out", "262 V ± 6 %"),
        ("same", " → "),
        ("in", "231 V, 218 to 244 V"),
    ]
    assert [(p.kind, p.text) for p in text.pieces] == [("same", "C9 to pin "), ("out", "3"), ("in", "4"), ("same", ".")]


def test_each_row_has_its_own_figure_and_a_lone_figure_its_name():
    lines = edit_lines([edit("expected", "1 V", "2 V", "a"), edit("expected", "3 V", "4 V", "b")])
    assert [(t.where, t.what) for t in lines] == [("a", "expected value"), ("b", "expected value")]


def test_marks_that_alone_changed_are_shown_and_nothing_is_made_of_nothing():
    (marks,) = edit_lines([edit("note", "pin 3", "**pin 3**")])
    assert any(p.kind == "in" and "**" in p.text for p in marks.pieces)
    assert edit_lines([]) == [] and [p.kind for p in whole("", "new")] == ["in"]


def test_quotation_marks_inside_become_single():
    assert quote(" “C9 +”: which end? ") == "“‘C9 +’: which end?”"
