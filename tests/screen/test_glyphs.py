"""Large digits: right shapes, right sizes."""

import pytest

from coach.screen.glyphs import ROWS, draw_large, large_width


def test_a_heading_is_drawn_as_seven_segments_draw_it() -> None:
    assert draw_large("240", wide=1, high=1) == (
        "███ █ █ ███",
        "  █ █ █ █ █",
        "███ ███ █ █",
        "█     █ █ █",
        "███   █ ███",
    )


def test_without_block_characters_it_is_drawn_in_ascii() -> None:
    assert draw_large("1:-", wide=1, high=1, block="#") == (
        "  #      ",
        "  # #    ",
        "  #   ###",
        "  # #    ",
        "  #      ",
    )


def test_every_digit_looks_different() -> None:
    assert len({draw_large(digit, wide=1, high=1) for digit in "0123456789-: "}) == 13


@pytest.mark.parametrize(("wide", "high"), [(1, 1), (2, 1), (6, 3)])
def test_every_row_has_the_width_that_was_told(wide: int, high: int) -> None:
    rows = draw_large("12:47", wide=wide, high=high)
    assert {len(row) for row in rows} == {large_width("12:47", wide=wide)}
    assert len(rows) == ROWS * high
