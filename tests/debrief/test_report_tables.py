"""The tables of the report hold the debrief's own figures."""

from __future__ import annotations

from coach.debrief.model import Debrief
from coach.debrief.report_grid import OUTSIDE, Grid
from coach.debrief.report_tables import lay_tables
from tests.debrief import debriefed


def grid(debrief: Debrief, name: str) -> Grid:
    (found,) = [grid for grid in lay_tables(debrief) if grid.name == name]
    return found


def column(grid: Grid, head: str) -> list[str]:
    at = grid.columns.index(head)
    return [row[at].text for row in grid.rows]


def test_every_table_is_as_wide_as_its_heads():
    for debrief in (debriefed.flown(), debriefed.track_alone(), debriefed.bookmarked()):
        for one in lay_tables(debrief):
            assert {len(row) for row in one.rows} == {len(one.columns)}


def test_a_late_turn_stands_in_its_leg_with_the_sign_of_outside():
    begins = column(grid(debriefed.flown(), "legs"), "turn begins, s")
    assert begins[5].startswith("+7.")
    assert [text.endswith(OUTSIDE) for text in begins].count(True) == 2
    assert begins[5].endswith(OUTSIDE)
    assert begins[8].endswith(OUTSIDE)


def test_every_mark_and_every_holding_has_its_row_with_its_reason():
    debrief = debriefed.flown()
    rows = grid(debrief, "marks").rows
    assert len(rows) == sum(len(flown.marks) + len(flown.held) for flown in debrief.legs)
    assert all(row[-1].text.endswith(".") for row in rows)
    assert all(" to " in row[-2].text for row in rows)


def test_the_five_ts_have_a_column_each_in_the_drills_order():
    table = grid(debriefed.flown(), "workflow")
    assert table.columns[3:8] == ("turn", "time", "twist", "throttle", "talk")
    assert column(table, "turn")[0] == "seen 0.0"
    assert column(table, "turn")[5].startswith("seen +7")


def test_a_bookmark_stands_with_what_was_said_around_it():
    table = grid(debriefed.bookmarked(), "bookmarks")
    assert column(table, "what") == ["bookmark"]
    assert "pilot: bookmark" in column(table, "said around it")[0]


def test_a_track_alone_shows_radials_and_turns_and_no_legs():
    names = [one.name for one in lay_tables(debriefed.track_alone())]
    assert {"passages", "radials", "turns"} <= set(names)
    assert not {"legs", "workflow", "marks"} & set(names)
