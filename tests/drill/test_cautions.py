"""The cautions hold what the rules and the makers ask to be told."""

from __future__ import annotations

import pytest

from coach.drill.cautions import CAUTIONS


@pytest.mark.parametrize(
    ("words", "source"),
    [
        ("not for navigation", None),
        ("licensed instructor", None),
        ("clock on the panel stays the clock", "14 CFR 91.205(d)(6)"),
        ("dual controls", "14 CFR 91.109(c)"),
        ("who is pilot in command before take-off", "value from memory"),
        ("no view-limiting device, eyes outside", None),
        ("not on an IFR clearance", None),
        ("does not interfere", "14 CFR 91.21"),
        ("Traffic gathers over VORs", None),
    ],
)
def test_caution_is_told_with_its_rule(words: str, source: str | None) -> None:
    assert [caution.source for caution in CAUTIONS if words in caution.text] == [source]


def test_first_caution_says_what_the_coach_is_not() -> None:
    assert CAUTIONS[0].text == "A training aid, not for navigation."
