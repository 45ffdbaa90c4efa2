"""How the report writes figures, shares and moments."""

from __future__ import annotations

import pytest

from coach.debrief.report_words import render_clock, render_plain, render_share, render_signed
from tests.debrief import debriefed


@pytest.mark.parametrize(
    ("share", "text"),
    [(1.0, "100 %"), (0.9999, "99 %"), (0.0, "0 %"), (0.0001, "1 %"), (0.5, "50 %")],
)
def test_a_share_never_rounds_to_all_or_nothing(share: float, text: str):
    assert render_share(share) == text


def test_a_plain_figure_is_never_minus_nothing():
    assert [render_plain(value) for value in (-0.04, 0.0, -0.06)] == ["0.0", "0.0", "-0.1"]


def test_nothing_is_neither_plus_nor_minus():
    assert [render_signed(value) for value in (-0.04, 0.0, 0.04, -0.06, 7.0)] == [
        "0.0",
        "0.0",
        "0.0",
        "-0.1",
        "+7.0",
    ]


def test_a_moment_is_rounded_to_its_second():
    debrief = debriefed.track_alone()
    assert render_clock(debrief, 0.4) == debrief.render_utc(0.0).rpartition("T")[2][:8]
    assert render_clock(debrief, 0.6) == debrief.render_utc(1.0).rpartition("T")[2][:8]
    assert render_clock(debrief, None) == ""
