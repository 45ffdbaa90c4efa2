"""The picture's shapes are the card's, each leg's track lies on them, all of it JSON."""

from __future__ import annotations

import json

import pytest

from coach.drill.card_view import draw_view
from coach.drill.shapes import Box
from coach.page.picture import SIDE, draw_picture, measure_roughly, scale_of
from tests.session.dialogue import eight_spoke


def test_every_shape_of_the_view_is_there_in_order():
    plan = eight_spoke(spokes=2)
    view = draw_view(plan, Box(left=0.0, top=0.0, width=SIDE, height=SIDE), measure_roughly)
    names = {"Text": "text", "Stroke": "line", "Filled": "area", "Circle": "circle"}
    picture = draw_picture(plan)
    assert [shape["is"] for shape in picture["shapes"]] == [names[type(shape).__name__] for shape in view]
    assert json.loads(json.dumps(picture)) == picture


def test_each_leg_begins_where_the_one_before_ends():
    plan = eight_spoke(spokes=2)
    legs = draw_picture(plan)["legs"]
    for n in range(1, len(plan.legs)):
        assert legs[str(n)][-1] == pytest.approx(legs[str(n + 1)][0], abs=0.2)


def test_the_drill_begins_over_the_station_and_stays_in_the_picture():
    plan = eight_spoke(spokes=2)
    legs = draw_picture(plan)["legs"]
    assert legs["1"][0] == [SIDE / 2, SIDE / 2]
    assert all(0.0 < part < SIDE for points in legs.values() for point in points for part in point)


def test_north_is_up_and_east_is_right():
    scale = scale_of(eight_spoke(spokes=1))
    assert scale.point(0.0, 1.0)[1] < SIDE / 2
    assert scale.point(1.0, 0.0)[0] > SIDE / 2
