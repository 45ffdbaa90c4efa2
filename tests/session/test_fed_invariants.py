"""Random flying and random events with a feed: the machine never raises and keeps its promises."""

from __future__ import annotations

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule

from coach.nav.aircraft import Aircraft
from coach.session.actions import Finish, Say
from coach.session.events import FeedBack, FeedLost, FixReceived, SessionStarted
from coach.session.machine import Options, Session
from coach.session.outlook import FeedUse, Role
from coach.session.progress import State, leg_of
from coach.session.prompts import Talk
from tests.session.dialogue import TABLE
from tests.session.fed import STATION, fix_at
from tests.session.test_invariants import PLANS, AnyFlight


class AnyFedFlight(AnyFlight):
    """An aircraft that flies anywhere near the station, beside everything else that may happen."""

    @initialize(
        plan=st.sampled_from(PLANS), talk=st.sampled_from(list(Talk)), role=st.sampled_from(list(Role))
    )
    def begin(self, plan, talk, role: Role) -> None:
        self.role = role
        use = FeedUse(station=STATION, role=role)
        self.session = Session(plan, TABLE, Options(talk=talk, heading_check_s=300.0, feed=use))
        self.at_s = 0.0
        self.actions: tuple = ()
        self.prompts: list[int] = []
        self.is_over = False
        self.aircraft = Aircraft(0.0, -1.0, 360.0, 90.0)
        self.is_fix = False
        self.take(SessionStarted(at_s=0.0, onset_s=0.0))

    def take(self, event) -> None:
        self.is_fix = isinstance(event, FixReceived)
        super().take(event)

    @rule(
        turn_deg=st.floats(-180.0, 180.0),
        lasts_s=st.integers(1, 90),
        every_s=st.sampled_from([0.1, 1.0, 5.0]),
    )
    def fly(self, turn_deg: float, lasts_s: int, every_s: float) -> None:
        """Turn, then straight on, with fixes."""
        self.aircraft = self.aircraft.turn(turn_deg)
        for _ in range(min(30, round(lasts_s / every_s))):
            self.at_s += every_s
            self.aircraft = self.aircraft.step(every_s)
            fix = fix_at(self.aircraft, self.at_s)
            self.take(FixReceived(at_s=self.at_s, onset_s=self.at_s, fix=fix))
            self.track_calls_are_made_only_where_they_may()

    @rule(east_nm=st.floats(-2.0, 2.0), north_nm=st.floats(-2.0, 2.0), heading=st.floats(1.0, 360.0))
    def jump(self, east_nm: float, north_nm: float, heading: float) -> None:
        """A simulator moved by its pilot."""
        self.aircraft = Aircraft(east_nm, north_nm, heading, 90.0)

    @rule(late_s=st.floats(0.0, 3.0))
    def lose_and_find(self, late_s: float) -> None:
        self.take(FeedLost(at_s=self.at_s, onset_s=max(0.0, self.at_s - late_s), reason="stale"))
        self.at_s += late_s
        self.take(FeedBack(at_s=self.at_s, onset_s=self.at_s))

    @invariant()
    def only_a_feed_that_decides_moves_the_drill(self) -> None:
        if self.is_fix and self.role is not Role.DECIDE and self.before.state is not State.COMPLETE:
            moved_on = self.session.progress.leg_i != self.before.leg_i
            assert not moved_on or self.session.progress.by_timer

    @invariant()
    def track_calls_are_made_only_where_they_may(self) -> None:
        called = [a for a in self.actions if isinstance(a, Say) and a.text.startswith(("Needle ", "Reverse"))]
        if not called or not self.is_fix:
            return
        progress = self.session.progress
        assert progress.state is State.FLYING
        assert leg_of(self.session._plan, progress).tracks
        assert progress.hush == "none"
        assert self.role is not Role.RECORD

    @invariant()
    def a_finished_session_has_no_more_to_do(self) -> None:
        if Finish() in self.actions:
            assert self.session.progress.state is State.COMPLETE


AnyFedFlight.TestCase.settings = settings(max_examples=40, stateful_step_count=25, deadline=None)
TestAnyFedFlight = AnyFedFlight.TestCase
