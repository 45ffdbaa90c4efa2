"""The card says what the plan says, and all of it."""

from __future__ import annotations

import pytest

from coach.drill.briefing import render_time
from coach.drill.card import A5, WIDE, lay_out_card, render_place, render_request
from coach.drill.card_view import draw_view
from coach.drill.cautions import CAUTIONS
from coach.drill.shapes import Box, Circle, Stroke
from coach.nav.station import Station
from tests.drill.cards import NAVAID, STATION, laid_out, measure, planned, words

PLANS = [
    {},
    {"wind": "250/20"},
    {"wind": "250/20", "spokes": "1"},
    {"spokes": "16", "rotation": "40 left"},
    {"spokes": "2", "rotation": "135 right", "offset_leg_s": "40", "wind": "030/25"},
]


@pytest.mark.parametrize("is_wide", [False, True])
@pytest.mark.parametrize("settings", PLANS, ids=str)
def test_large_figures_are_the_headings_to_steer_in_order(settings, is_wide: bool):
    plan = planned(**settings)
    large = [text for side in laid_out(plan, is_wide=is_wide) for text in side.texts if text.size >= 18.0]
    assert [text.text for text in large] == [f"{leg.steer_mag_deg:03d}" for leg in plan.legs]


@pytest.mark.parametrize("settings", PLANS, ids=str)
def test_each_leg_has_number_name_start_course_and_ending(settings):
    plan = planned(**settings)
    texts = [text.text for side in laid_out(plan) for text in side.texts]
    for leg in plan.legs:
        at = texts.index(f"{leg.leg.n} {leg.leg.leg}")
        set_or_course = "set" if leg.leg.sets_course else "c"
        assert texts[at + 1] == render_time(leg.start_s)
        assert texts[at + 3] == f"{set_or_course} {leg.leg.course_mag_deg:03d}"
        if leg.leg.leg_s:
            assert texts[at + 4] == f"{leg.leg.leg_s:g} s"
        elif leg.intercept_s is not None:
            assert texts[at + 4] == ("through" if leg.goes_through else f"{leg.intercept_s:.0f} s")
        else:
            assert texts[at + 4] == "passage"


@pytest.mark.parametrize("settings", PLANS, ids=str)
def test_every_caution_and_every_warning_is_printed_in_full(settings):
    plan = planned(**settings)
    printed = words(laid_out(plan))
    assert all(caution.text in printed for caution in CAUTIONS)
    assert all(warning in printed for warning in plan.warnings)


def test_station_warnings_are_printed_behind_the_plans():
    sheets = lay_out_card(planned(), measure, station=STATION, warnings=("The declination is old.",))
    assert "! The declination is old." in words(sheets)


def test_wind_speed_time_and_reach_are_the_plans():
    plan = planned("250/20")
    printed = words(laid_out(plan))
    assert "Wind 250/20 TAS 90 kt, arrive on course 155" in printed
    assert f"{render_time(plan.total_s)} from first to last passage" in printed
    assert f"Reach {plan.reach_nm:.1f} NM, on radial {plan.reach_radial_mag_deg:03d}" in printed


def test_nil_wind_is_called_calm():
    assert "Wind calm" in words(laid_out(planned()))


def test_each_outbound_radial_stands_on_the_rim_with_its_spokes():
    texts = [text.text for text in laid_out(planned(spokes="16"))[0].texts]
    assert texts[texts.index("1,9") + 1] == "110"
    assert texts[texts.index("8,16") + 1] == "335"


def test_the_circles_are_the_reach_and_a_mile_more():
    # procedure.md, "Before flight": the reach circle, with wind, plus 1 NM.
    plan = planned(wind="250/20")
    box = Box(left=0.0, top=0.0, width=200.0, height=200.0)
    circles = [shape for shape in draw_view(plan, box, measure) if isinstance(shape, Circle)]
    outer, inner = sorted((circle.radius for circle in circles), reverse=True)[:2]
    assert inner / outer == pytest.approx(plan.reach_nm / (plan.reach_nm + 1.0))


def test_request_takes_the_reach_with_a_mile_and_minutes_to_the_next_five():
    # Nil wind at 90 kt: 3.5 NM and 41.8 minutes (simulated), so five miles and 45 minutes.
    assert render_request(planned(), "Nowhere Deep") == (
        "To ATC: request traffic advisories, maneuvering within 5 miles of Nowhere Deep VOR "
        "at ________ feet for 45 minutes."
    )


def test_known_station_is_named_with_frequency_ident_and_declination():
    printed = words(lay_out_card(planned(), measure, station=STATION, navaid=NAVAID))
    assert "113.00  QQQ" in printed
    assert "miles of Nowhere Deep VOR" in printed.replace("  ", " ")
    assert "40.000 S 110.000 W, declination 12 E" in printed


def test_unknown_station_is_left_to_be_written_in():
    texts = [text.text for text in laid_out(planned())[0].texts]
    assert {"VOR", "ident", "MHz"} <= set(texts)


def test_ident_is_drawn_as_dots_and_dashes():
    def lengths(navaid):
        shapes = lay_out_card(planned(), measure, station=STATION, navaid=navaid)[0].shapes
        flat = [shape for shape in shapes if isinstance(shape, Stroke) and shape.width == 1.8]
        level = [shape.points for shape in flat if shape.points[0][1] == shape.points[-1][1]]
        return [round(end[0] - start[0], 1) for start, end in level if len({start, end}) == 2]

    # Q is dash dash dot dash (AIM 4-2-7).
    assert lengths(NAVAID) == [5.0, 5.0, 1.6, 5.0] * 3
    assert lengths(None) == []


@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "declination_deg", "expected"),
    [
        (12.5, 45.25, -3.0, "12.500 N 45.250 E, declination 3 W"),
        (-40.0, -110.0, 12.0, "40.000 S 110.000 W, declination 12 E"),
    ],
)
def test_place_has_letters_instead_of_signs(latitude_deg, longitude_deg, declination_deg, expected: str):
    station = Station(latitude_deg=latitude_deg, longitude_deg=longitude_deg, declination_deg=declination_deg)
    assert render_place(station) == expected


def test_sheet_is_a5_or_wide_and_dark():
    card, tablet = laid_out(planned())[0], laid_out(planned(), is_wide=True)[0]
    assert (card.width, card.height, card.is_dark) == (*A5, False)
    assert (tablet.width, tablet.height, tablet.is_dark) == (*WIDE, True)
    # ISO 216: A5 is 148 by 210 mm.
    assert (card.width / 72 * 25.4, card.height / 72 * 25.4) == pytest.approx((148.0, 210.0), abs=0.01)
