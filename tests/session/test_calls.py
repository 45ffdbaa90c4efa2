"""The calls of a leg."""

from __future__ import annotations

import pytest

from coach.session.calls import calls
from coach.session.progress import Progress, State, ends_at_s, enter
from coach.session.prompts import Talk
from tests.session.dialogue import eight_spoke


@pytest.mark.parametrize("passage_s", [4.3, 4.302, 4.329761, 5.1, 7.77])
def test_ten_seconds_are_called_whenever_the_turn_ends_just_then(passage_s: float) -> None:
    """A leg whose turn ends ten seconds before its time, begun at times that binary fractions do not hold."""
    plan = eight_spoke(leg_s="10", offset_leg_s="30", spokes="1")
    offset = plan.legs[1]
    assert offset.turn_s == pytest.approx(20.0)
    progress = enter(plan, Progress(state=State.ARRIVING), 0, onset_s=passage_s)
    progress = enter(plan, progress, 1, onset_s=ends_at_s(plan, progress) or 0.0, by_timer=True)
    assert "ten" in {call.name for call in calls(plan, progress, Talk.SHORT, heading_check_due=False)}
