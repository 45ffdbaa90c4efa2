"""Surprises from the command line: within limits set beforehand, or one clear line."""

from __future__ import annotations

import argparse

import pytest

from coach.cli.surprise_arguments import add_surprises, read_surprises
from coach.errors import SettingsError
from coach.session.surprised import Surprises
from coach.session.surprises import SurpriseKind
from tests.session.dialogue import eight_spoke

LIMITS = ["--lowest-ft", "2500", "--farthest-nm", "6"]


def read(*arguments: str) -> Surprises | None:
    parser = argparse.ArgumentParser()
    add_surprises(parser)
    return read_surprises(parser.parse_args(arguments), eight_spoke())


def test_without_the_option_there_are_none():
    assert read(*LIMITS) is None


def test_the_kinds_named_are_planned_within_the_limits():
    surprises = read("--surprises", "radial,reversals", *LIMITS)
    assert surprises is not None
    assert {one.kind for one in surprises.planned} <= {SurpriseKind.RADIAL, SurpriseKind.REVERSALS}
    assert surprises.planned
    assert (surprises.limits.lowest_ft, surprises.limits.farthest_nm) == (2500.0, 6.0)


def test_failures_are_planned_in_a_simulator_only():
    assert read("--surprises", "timer", *LIMITS).planned == ()  # type: ignore[union-attr]
    assert read("--surprises", "timer", "--simulator", *LIMITS).planned  # type: ignore[union-attr]


def test_every_problem_is_told_at_once():
    with pytest.raises(SettingsError) as raised:
        read("--surprises", "radial,engine", "--lowest-ft", "low")
    assert str(raised.value).splitlines() == [
        "--surprises: expected radial, reversals, hold, timer, panel or all, got 'engine'",
        "--lowest-ft: expected 0 to 60,000 ft, set beforehand, got 'low'",
        "--farthest-nm: expected 0 to 100 NM, set beforehand, got none",
    ]
