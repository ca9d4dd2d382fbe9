"""Steps that put in "the valves" without naming one. The wordings are common practice, English and German."""

import pytest

from builds.guides.text_import.valves_in import fit_valves_left_out, puts_valves_in


@pytest.mark.parametrize(
    "text",
    [
        "Insert the valves.",
        "Switch off and unplug. Fit all valves.",
        "Put the tubes back in their sockets.",
        "8-Ω-Lastwiderstand anschließen. Röhren einstecken.",
        "Alle Röhren wieder in die Fassungen stecken.",
        "Setzen Sie die Röhren ein.",
        "Die Röhren einsetzen.",
    ],
)
def test_words_that_put_the_valves_in(text):
    assert puts_valves_in(text)


@pytest.mark.parametrize(
    "text",
    [
        "Do not insert the valves yet.",
        "Noch keine Röhren einstecken.",
        "Röhren erst später einsetzen.",
        "Take the valves out.",
        "Die Röhren aus den Fassungen nehmen.",
        "Check that the valves glow.",
    ],
)
def test_words_that_do_not(text):
    assert not puts_valves_in(text)


def test_the_valves_left_out_so_far_are_the_parts_of_the_step_that_puts_them_in():
    bare = {"key": "a", "power": "on", "not_fitted": ["V1", "V2", "V3"], "step": [{"text": "Insert the valves."}]}
    live = {
        "key": "b",
        "step": [{"text": "Fit V2.", "parts": ["V2"], "hands_in": True}, {"text": "Insert the valves."}],
    }
    later = {"key": "c", "step": [{"text": "Insert the valves."}]}
    fit_valves_left_out([bare, live, later])
    assert "parts" not in bare["step"][0]  # the stage is one without valves
    assert live["step"][1] == {"text": "Insert the valves.", "parts": ["V1", "V3"], "hands_in": True}
    assert "parts" not in later["step"][0]
