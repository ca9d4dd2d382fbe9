"""The site treats every entry of the table, on every check, as a measurement engineer accepts."""

from itertools import groupby

import pytest
from django.urls import reverse

from builds.bench.models import CheckStatus
from tests.dangers import table
from tests.dangers.driving import FIGURES, NOT_OFFERED, answer, answer_by_post, make_bench, sent

pytestmark = pytest.mark.django_db
TYPED, PRESSED = table.typed_cells(), table.pressed_cells()
EVERY = 29  # of the typed cells, one in so many is posted too; no multiple of the eight columns
NEVER = [
    cell for cell in PRESSED if cell.wanted[0] in ("out", "ask_digits") and not {"pass", "too_close"} & set(cell.wanted)
]


@pytest.fixture
def bench():
    return make_bench()


@pytest.fixture
def phone(client, bench):
    client.force_login(bench[0].builder, backend="django.contrib.auth.backends.ModelBackend")
    return client


def failing(cells, got_of) -> list[str]:
    """One line for each cell with a wrong outcome. A button that the page does not offer cannot be pressed."""
    lines = []
    for cell in cells:
        got = got_of(cell)
        if got not in cell.wanted and not (cell.button and got == NOT_OFFERED):
            button = f" [{cell.button}]" if cell.button is not None else ""
            what = f"{ascii(cell.typed)[:40]}{button}\twanted {'|'.join(cell.wanted)}\tgot {got}"
            lines.append(f"{cell.check}\t{what}\t{cell.reason}")
    return lines


def below_http(bench):
    build, checks = bench
    return lambda cell: answer(build, checks[cell.check], cell.typed, cell.button)


def test_the_table_is_complete():
    assert set(FIGURES) == set(table.CHECKS) == {cell.check for cell in PRESSED}
    entries = [list(cells) for _typed, cells in groupby(TYPED, key=lambda cell: cell.typed)]
    assert len(entries) >= 150 and all([cell.check for cell in cells] == list(table.CHECKS) for cells in entries)
    assert len({cells[0].typed for cells in entries}) == len(entries)
    assert all(cell.reason for cell in TYPED + PRESSED)


def test_no_cell_lets_a_pass_share_with_out_or_stop():
    assert [cell for cell in TYPED + PRESSED if "pass" in cell.wanted and {"out", "stop"} & set(cell.wanted)] == []


@pytest.mark.lengthy
@pytest.mark.parametrize("check", table.CHECKS)
def test_an_entry_typed_without_pressing_a_button(bench, check):
    assert failing([cell for cell in TYPED if cell.check == check], below_http(bench)) == []


@pytest.mark.lengthy
@pytest.mark.parametrize("check", table.CHECKS)
def test_an_entry_posted_without_any_unit(bench, check):
    build, checks = bench
    cells = [cell for cell in TYPED if cell.check == check]
    assert failing(cells, lambda cell: answer(build, checks[check], cell.typed, "")) == []


@pytest.mark.parametrize("check", table.CHECKS)
def test_an_entry_typed_with_a_button_pressed(bench, check):
    assert failing([cell for cell in PRESSED if cell.check == check], below_http(bench)) == []


@pytest.mark.lengthy
def test_a_post_says_the_same_as_the_functions_below_it(bench, phone):
    build, checks = bench
    for cell in TYPED[::EVERY] + PRESSED[::4]:
        row = checks[cell.check]
        below = answer(build, row, cell.typed, cell.button)
        assert answer_by_post(phone, build, row, cell.typed, cell.button) == below, cell


@pytest.mark.parametrize("cell", NEVER, ids=lambda cell: f"{cell.check}-{ascii(cell.typed)}-{ascii(cell.button)}")
def test_a_reading_out_or_short_of_digits_never_passes_when_typed_again(bench, phone, cell):
    build, checks = bench
    row = checks[cell.check]
    for _again in range(3):
        phone.post(
            reverse("bench:reading", args=[build.pk, row.stage.key, row.key]), sent(build, row, cell.typed, cell.button)
        )
    assert not CheckStatus.objects.filter(build=build, passed=True).exists()
