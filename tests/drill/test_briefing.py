"""The briefing of a plan, as JSON and as words."""

from __future__ import annotations

import json

import pytest

from coach.drill.briefing import COLUMNS, brief_plan, briefing_rows, encode_briefing, render_time
from coach.drill.cautions import CAUTIONS
from coach.drill.model import Drill
from coach.drill.plan import plan_drill
from coach.nav.wind import parse_wind
from coach.store.drills import read_drill


def drill(**settings: str) -> Drill:
    return read_drill("eight-spoke", {"first_outbound": "240", **settings})


def test_json_has_the_keys_that_stay_stable() -> None:
    briefing = encode_briefing(plan_drill(drill()))
    assert list(briefing) == ["drill", "legs", "total_s", "reach_nm", "warnings"]
    assert {tuple(leg) for leg in briefing["legs"]} == {
        ("n", "spoke", "leg", "turn", "heading_mag_deg", "steer_mag_deg", "course_mag_deg", "leg_s",
         "ends_on", "start_s"),
    }  # fmt: skip


def test_json_reads_back_the_same() -> None:
    briefing = encode_briefing(plan_drill(drill(), wind=parse_wind("250M/20")))
    assert json.loads(json.dumps(briefing)) == briefing


def test_second_leg_of_the_first_spoke_in_calm() -> None:
    rows = briefing_rows(plan_drill(drill()))
    assert rows[1] == {
        "n": 2, "spoke": 1, "leg": "offset", "turn": "left", "heading_mag_deg": 195, "steer_mag_deg": 195,
        "course_mag_deg": 60, "leg_s": 60.0, "ends_on": "time", "start_s": 60.0,
    }  # fmt: skip


def test_wind_changes_what_is_steered_on_a_course_and_never_the_published_heading() -> None:
    calm, windy = (briefing_rows(plan_drill(drill(), wind=wind)) for wind in (None, parse_wind("330M/20")))
    assert [row["heading_mag_deg"] for row in windy] == [row["heading_mag_deg"] for row in calm]
    assert windy[0]["steer_mag_deg"] != windy[0]["heading_mag_deg"]
    assert windy[1]["steer_mag_deg"] == windy[1]["heading_mag_deg"] == 195


def test_duration_in_calm_is_that_of_the_procedure() -> None:
    # Simulated, nil wind, 90 kt: 41.9 minutes in all, 3.5 NM from the station.
    briefing = encode_briefing(plan_drill(drill()))
    assert briefing["total_s"] / 60 == pytest.approx(41.9, abs=0.2)
    assert briefing["reach_nm"] == pytest.approx(3.5, abs=0.1)


def test_table_says_each_leg_in_one_row() -> None:
    rows = brief_plan(plan_drill(drill(spokes="1"))).rows
    assert all(len(row) == len(COLUMNS) for row in rows)
    assert rows[:3] == (
        ("1", "1", "outbound", "left 45", "240", "240", "set 240", "60 s", "time", "0:00"),
        ("2", "1", "offset", "left 45", "195", "195", "set 060", "60 s", "time", "1:00"),
        ("3", "1", "reversal", "right 180", "015", "015", "060", "", "intercept", "2:00"),
    )


def test_facts_name_source_settings_wind_and_time() -> None:
    facts = brief_plan(plan_drill(drill(spokes="2", arrive_course="240"))).facts
    assert facts[0].startswith("Source: Common practice, no source.")
    assert facts[1] == (
        "Settings: first_outbound 240, arrive_course 240, spokes 2, rotation 45 left, sides alternate, "
        "leg_s 60, offset_leg_s 60, timer_from turn, wind_correction off"
    )
    assert facts[2] == "Arrive on course 240, TAS 90 kt, wind 360/0"
    assert facts[3].startswith("From the first passage to the last: 10:2")


def test_first_leg_without_a_turn_says_none() -> None:
    assert brief_plan(plan_drill(drill(spokes="1", arrive_course="240"))).rows[0][3] == "none"


def test_spokes_that_fare_alike_are_told_together() -> None:
    calm = brief_plan(plan_drill(drill(spokes="3"))).facts
    assert calm[-1] == "Spokes 1, 2, 3: 7 s on the intercept heading"


def test_spokes_that_go_through_the_course_are_named() -> None:
    plan = plan_drill(drill(), wind=parse_wind("250M/20"))
    through = [leg.leg.spoke for leg in plan.legs if leg.goes_through]
    line = next(
        fact for fact in brief_plan(plan).facts if fact.endswith("through the course before roll-out")
    )
    assert len(through) == 3
    assert line.split(":")[0] == f"Spokes {', '.join(map(str, through))}"


def test_warnings_of_drill_and_plan_are_told_in_both() -> None:
    plan = plan_drill(drill(offset_leg_s="45"))
    assert plan.warnings
    assert brief_plan(plan).warnings == plan.warnings
    assert encode_briefing(plan)["warnings"] == list(plan.warnings)
    assert any("leaves no room to lead" in warning for warning in plan.warnings)


def test_all_cautions_are_told() -> None:
    told = brief_plan(plan_drill(drill(spokes="1"))).cautions
    assert told == tuple(caution.text for caution in CAUTIONS)


@pytest.mark.parametrize(
    ("seconds", "text"), [(0.0, "0:00"), (59.4, "0:59"), (59.6, "1:00"), (119.999, "2:00"), (2514.0, "41:54")]
)
def test_time_never_says_sixty_seconds(seconds: float, text: str) -> None:
    assert render_time(seconds) == text
