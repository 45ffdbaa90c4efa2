"""Every figure as a row."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

from coach.debrief.figures_csv import COLUMNS, encode_csv
from tests.debrief import debriefed


def rows_of(debrief) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(encode_csv(debrief), newline="")))


def test_each_figure_is_a_row_with_its_standard_source_and_seconds():
    debrief = debriefed.flown()
    rows = rows_of(debrief)
    assert len(rows) == sum(len(flown.marks) + len(flown.held) for flown in debrief.legs)
    (late,) = [row for row in rows if row["leg_n"] == "6" and row["what"] == "turn begins"]
    assert 6.5 < float(late["value"]) < 7.5
    assert (late["unit"], late["is_within"], late["limit"]) == ("s", "False", "6.0")
    assert late["start_utc"] < late["end_utc"]


def test_what_was_held_tells_share_seconds_and_root_mean_square():
    (held,) = [row for row in rows_of(debriefed.flown()) if row["leg_n"] == "4" and row["what"] == "needle"]
    assert held["kind"] == "held"
    assert 0.0 <= float(held["within_share"]) <= 1.0
    assert float(held["measured_s"]) > 30.0


def test_a_leg_without_figures_has_its_row_all_the_same():
    debrief = debriefed.flown()
    bare = replace(debrief.legs[0], how="skipped", told="It was skipped.", marks=(), held=())
    rows = rows_of(replace(debrief, legs=(bare,)))
    assert rows == [
        dict.fromkeys(COLUMNS, "")
        | {"leg_n": "1", "spoke": "1", "leg": "outbound", "how": "skipped", "reason": "It was skipped."}
    ]


def test_no_cell_is_taken_for_a_formula():
    debrief = debriefed.flown()
    evil = replace(debrief.legs[0], how="skipped", told="=1+1", marks=(), held=())
    assert rows_of(replace(debrief, legs=(evil,)))[0]["reason"] == "'=1+1"
