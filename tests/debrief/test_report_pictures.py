"""The pictures of the report: nothing that matters is thinned away, and each is told in words."""

from __future__ import annotations

import numpy as np
import pytest

from coach.debrief.report_pictures import (
    MOST_POINTS,
    Above,
    OverTime,
    draw_above,
    draw_over_time,
)
from coach.debrief.skills import find_skill, gather_skills
from tests.debrief import debriefed


def above_of(debrief) -> Above:
    above = draw_above(debrief)
    assert above is not None
    return above


def over_of(debrief) -> OverTime:
    over = draw_over_time(debrief)
    assert over is not None
    return over


def test_the_drawn_track_stays_within_a_few_metres_of_every_fix():
    debrief = debriefed.flown()
    assert debrief.flight is not None
    ((east, north),) = above_of(debrief).flown
    flight = debrief.flight
    assert len(east) < len(flight.track) / 3
    for x, y in zip(flight.east_nm[::10], flight.north_nm[::10], strict=True):
        assert from_path(east, north, x, y) <= 0.0041


def from_path(east: np.ndarray, north: np.ndarray, x: float, y: float) -> float:
    along_x, along_y = np.diff(east), np.diff(north)
    square = along_x**2 + along_y**2
    share = np.clip(((x - east[:-1]) * along_x + (y - north[:-1]) * along_y) / square, 0.0, 1.0)
    return float(np.min(np.hypot(x - east[:-1] - share * along_x, y - north[:-1] - share * along_y)))


def test_every_leg_as_planned_and_every_passage_stand_in_the_picture():
    above = above_of(debriefed.flown())
    assert len(above.planned) == 12
    assert [number for _, _, number in above.spokes] == ["1", "2", "3"]
    assert all(np.hypot(*place) < 0.3 for place in above.passages)
    assert len(above.passages) == len(debriefed.flown().passages) >= 3


def test_a_track_alone_is_drawn_without_a_plan():
    above = above_of(debriefed.track_alone())
    assert (above.planned, above.spokes, above.wind) == ((), (), None)
    assert "as planned" not in above.told
    assert draw_over_time(debriefed.track_alone()) is None


def test_without_a_track_there_is_no_picture():
    assert draw_above(debriefed.without_track()) is None
    assert draw_over_time(debriefed.without_track()) is None


def test_panels_have_the_standards_limits_and_few_points():
    over = over_of(debriefed.flown())
    assert {panel.title.split(",")[0]: panel.limit for panel in over.panels} == {
        "Needle": 7.5,
        "Heading error": 5.0,
        "Altitude": 100.0,
        "Airspeed": 10.0,
    }
    assert max(len(panel.time_s) for panel in over.panels) <= 1.5 * MOST_POINTS


def test_ten_fixes_a_second_draw_no_more_points():
    over = over_of(debriefed.flown(spokes=1, every_s=0.1))
    assert max(len(panel.time_s) for panel in over.panels) <= 1.5 * MOST_POINTS


def test_a_panel_tells_its_figures_in_words():
    debrief = debriefed.flown()
    needle = find_skill(gather_skills(debrief), "needle")
    assert needle is not None
    told = over_of(debrief).panels[0].told
    assert told.startswith(f"Needle over time: measured for {needle.seconds:.0f} s")
    assert "within 3/4 of full scale (7.5 of 10 degrees)" in told
    assert f"at worst {abs(needle.worst):.1f} degrees {'right' if needle.worst > 0 else 'left'}" in told


def test_the_needle_stops_at_full_scale():
    needle = over_of(debriefed.flown()).panels[0]
    assert np.nanmax(np.abs(needle.values)) == 10.0


def test_spokes_are_marked_where_they_begin():
    over = over_of(debriefed.flown())
    assert [number for _, number in over.marks] == ["1", "2", "3"]
    assert over.marks[0][0] == pytest.approx(30.0, abs=2.0)
