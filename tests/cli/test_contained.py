from __future__ import annotations

import os
from argparse import Namespace
from collections.abc import Sequence

import pytest

from coach.cli import contained
from coach.cli.contained import CHUNK, TAS_WITHIN_KT, draw_conditions, find_containment, wind_limit_of
from coach.drill.containment import Conditions, Reach
from coach.errors import CoachError, SettingsError
from tests.drill.eight_spoke import eight_spoke


def test_winds_come_from_everywhere_up_to_the_limit() -> None:
    many = draw_conditions(2000, tas_kt=90, wind_up_to_kt=25)
    speeds = sorted(flight.wind.speed_kt for flight in many)
    assert speeds[0] >= 0
    assert speeds[-1] <= 25
    assert speeds[1000] == pytest.approx(12.5, abs=1.0)
    quarters = [sum(90 * q < flight.wind.from_deg <= 90 * (q + 1) for flight in many) for q in range(4)]
    assert sum(quarters) == 2000
    assert min(quarters) > 420
    assert all(abs(flight.tas_kt - 90) <= TAS_WITHIN_KT for flight in many)


def test_the_same_seed_draws_the_same_winds() -> None:
    first, again, other = (draw_conditions(5, tas_kt=90, wind_up_to_kt=25, seed=seed) for seed in (1, 1, 2))
    assert first == again != other


def test_several_processes_find_what_one_finds() -> None:
    many = draw_conditions(CHUNK + 10, tas_kt=90, wind_up_to_kt=25)
    drill = eight_spoke(spokes=1)
    assert find_containment(drill, many, cores=2) == find_containment(drill, many, cores=1)


def die(_chunk: Sequence[Conditions]) -> tuple[Reach | None, ...]:
    """What a process does that the system ends."""
    os._exit(1)


def test_a_process_that_is_killed_is_one_clear_line() -> None:
    chunk = draw_conditions(1, tas_kt=90, wind_up_to_kt=25)
    with pytest.raises(CoachError, match=r"^containment: a process that worked on it was ended; try again$"):
        contained._find_on_cores(die, [chunk, chunk], 2)


def test_stronger_winds_reach_farther() -> None:
    weak, strong = (
        find_containment(eight_spoke(spokes=2), draw_conditions(60, tas_kt=90, wind_up_to_kt=kt), cores=1)
        for kt in (5, 25)
    )
    assert weak.radius_nm < strong.radius_nm


@pytest.mark.parametrize("text", ["-1", "201", "nan", "much"])
def test_a_wind_limit_that_is_none_is_one_clear_line(text: str) -> None:
    with pytest.raises(SettingsError) as caught:
        wind_limit_of(Namespace(wind_up_to=text, containment=True))
    assert str(caught.value) == f"--wind-up-to: expected 0 to 200 kt, got '{text}'"


def test_a_wind_limit_alone_is_told() -> None:
    with pytest.raises(SettingsError, match="--wind-up-to: expected --containment beside it, got none"):
        wind_limit_of(Namespace(wind_up_to="20", containment=False))
    assert wind_limit_of(Namespace(wind_up_to=None, containment=False)) == 25.0
