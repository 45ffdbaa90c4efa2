"""The history in words."""

from __future__ import annotations

import json
from dataclasses import replace

from coach.debrief.history import find_trends
from coach.debrief.history_words import COLUMNS, encode_sessions, encode_trends, render_figure, trend_rows
from tests.debrief.test_history import figure, session


def test_a_row_has_the_spread_beside_the_mean():
    trends = find_trends([session(day, share) for day, share in enumerate((0.4, 0.6, 0.9))])
    (row,) = trend_rows(trends)
    assert dict(zip(COLUMNS, row, strict=True)) == {
        "skill": "turn begins",
        "n": "3",
        "first": "40 %",
        "latest": "90 %",
        "mean, spread": "63 %, 21",
        "latest figure": "2.0 ± 1.0 s",
        "within": "more often",
    }


def test_what_was_held_is_told_by_its_root_mean_square():
    held = replace(figure(0.9), mean=None, is_held=True, spread=40.0, worst=-150.0, unit="ft")
    assert render_figure(held) == "rms 40.0 ft"
    assert render_figure(replace(figure(0.9), mean=-0.01)) == "0.0 ± 1.0 s"


def test_an_export_holds_every_figure_as_json():
    (kept,) = encode_sessions([session(0, 0.4)])
    assert json.loads(json.dumps(kept))["skills"][0]["within_share"] == 0.4
    assert kept["began_utc"] == "2026-01-01T00:00:00+00:00"


def test_trends_as_json_name_their_sessions():
    (trend,) = encode_trends(find_trends([session(0, 0.4), session(1, 0.8)]))
    assert trend["sessions"] == ["eight-spoke-0", "eight-spoke-1"]
    assert trend["within_shares"] == [0.4, 0.8]
