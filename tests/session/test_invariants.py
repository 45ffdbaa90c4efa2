"""Random events in random order: the machine never raises and keeps its promises in every state."""

from __future__ import annotations

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from coach.drill.plan import plan_drill
from coach.fixes.fix import Fix
from coach.session.actions import Finish, Listen, Say, Silence, Sound
from coach.session.answers import Direction, Kind
from coach.session.events import (
    EVENTS,
    AnswerHeard,
    BookmarkMade,
    FeedLost,
    FixReceived,
    NoteMade,
    NotUnderstood,
    PhraseHeard,
    PromptDropped,
    PromptFinished,
    PromptStarted,
    SessionStarted,
    Woken,
)
from coach.session.grammar import MUTE, SILENCE
from coach.session.machine import Options, Session
from coach.session.mastery import Element, Mastery, Step
from coach.session.prompts import Talk
from coach.session.teacher import Mode
from coach.store.drills import list_drills, read_drill
from tests.session.dialogue import TABLE, eight_spoke

PLANS = [eight_spoke(spokes=2, timer_from=timer) for timer in ("turn", "level")]
OTHERS = [
    plan_drill(read_drill(listing.name, {}), tas_kt=90)
    for listing in list_drills()
    if listing.name != "eight-spoke"
]
PHRASES = [phrase.canonical for phrase in TABLE.phrases]


class AnyFlight(RuleBasedStateMachine):
    """Anything may happen at any time, with any delay between saying and understanding."""

    @initialize(
        plan=st.one_of(st.sampled_from(PLANS), st.sampled_from(OTHERS)),
        talk=st.sampled_from(list(Talk)),
        mode=st.sampled_from(list(Mode)),
        step=st.sampled_from(list(Step)),
    )
    def begin(self, plan, talk, mode, step) -> None:
        known = tuple(Mastery(element=element, step=step) for element in Element)
        options = Options(talk=talk, heading_check_s=300.0, mode=mode, known=known)
        self.session = Session(plan, TABLE, options)
        self.at_s = 0.0
        self.actions: tuple = ()
        self.prompts: list[int] = []
        self.is_over = False
        self.take(SessionStarted(at_s=0.0, onset_s=0.0))

    def take(self, event) -> None:
        self.before = self.session.progress
        self.actions = self.session.handle(event)
        self.prompts += [action.prompt for action in self.actions if isinstance(action, Say)]
        self.is_over = self.is_over or Finish() in self.actions

    @rule(after_s=st.floats(0.0, 200.0))
    def wake(self, after_s: float) -> None:
        self.at_s += after_s
        self.take(Woken(at_s=self.at_s, onset_s=self.at_s))

    @rule()
    def wake_as_asked(self) -> None:
        wake_s = self.session.next_wakeup_s
        if wake_s is None:
            return
        self.at_s = max(self.at_s, wake_s)
        self.take(Woken(at_s=self.at_s, onset_s=wake_s))
        after_s = self.session.next_wakeup_s
        assert after_s is None or after_s > self.at_s or after_s > wake_s

    @rule(
        phrase=st.sampled_from(PHRASES),
        late_s=st.floats(0.0, 5.0),
        by=st.sampled_from(["voice", "key", "page"]),
    )
    def hear(self, phrase: str, late_s: float, by) -> None:
        onset_s = max(0.0, self.at_s - late_s)
        self.take(PhraseHeard(at_s=self.at_s, onset_s=onset_s, phrase=phrase, by=by))
        if by == "key" and phrase == MUTE:
            assert Silence() in self.actions or self.before.hush == "suspended"
        if phrase in SILENCE and by != "voice":
            assert self.session.progress.hush == "suspended"

    @rule(
        kind=st.sampled_from([kind for kind in EVENTS if kind is not PhraseHeard]), late_s=st.floats(0.0, 3.0)
    )
    def happen(self, kind, late_s: float) -> None:
        times = {"at_s": self.at_s, "onset_s": max(0.0, self.at_s - late_s)}
        rest = {
            NotUnderstood: {"reason": "no phrase fits"},
            AnswerHeard: {"kind": "heading", "digits": "315", "direction": None, "is_right": True},
            PromptStarted: {"prompt": self.prompts[-1] if self.prompts else 1},
            PromptFinished: {"prompt": self.prompts[-1] if self.prompts else 1},
            PromptDropped: {"prompt": self.prompts[-1] if self.prompts else 1, "reason": "stale"},
            FixReceived: {"fix": Fix(at_s=times["onset_s"], lat_deg=-33.0, lon_deg=-12.0, source="nmea")},
            FeedLost: {"reason": "silent"},
            BookmarkMade: {"what": "late"},
            NoteMade: {"text": "drifted left"},
        }
        edge = {"edge": "ear", "reason": "gone"} if kind.__name__ == "EdgeFailed" else {}
        edge = {"edge": "ear"} if kind.__name__ == "EdgeRecovered" else edge
        self.take(kind(**times, **rest.get(kind, {}), **edge))

    @rule(
        digits=st.sampled_from(["001", "060", "195", "360", "000", "7"]),
        kind=st.sampled_from(list(Kind)),
        side=st.sampled_from([None, *Direction]),
        late_s=st.floats(0.0, 5.0),
    )
    def answer(self, digits: str, kind, side, late_s: float) -> None:
        times = {"at_s": self.at_s, "onset_s": max(0.0, self.at_s - late_s)}
        self.take(AnswerHeard(**times, kind=kind, digits=digits, direction=side, is_right=False))

    @invariant()
    def nothing_is_said_while_suspended(self) -> None:
        if self.session.progress.hush == "suspended" and self.before.hush == "suspended":
            assert not [action for action in self.actions if isinstance(action, Say | Sound)]

    @invariant()
    def prompts_are_numbered_in_order(self) -> None:
        assert self.prompts == list(range(1, len(self.prompts) + 1))

    @invariant()
    def everything_listened_for_is_in_the_table(self) -> None:
        for action in self.actions:
            if isinstance(action, Listen):
                assert set(action.phrases) <= set(PHRASES)
                assert len(set(action.phrases)) == len(action.phrases)

    @invariant()
    def no_prompt_is_due_in_the_past_or_empty(self) -> None:
        for action in self.actions:
            if isinstance(action, Say):
                assert action.text
                assert action.due_s is None or action.due_s > self.at_s
                assert action.stale_s >= self.at_s

    @invariant()
    def drill_finishes_once(self) -> None:
        assert [type(action) for action in self.actions].count(Finish) <= 1


AnyFlight.TestCase.settings = settings(max_examples=120, stateful_step_count=60, deadline=None)
TestAnyFlight = AnyFlight.TestCase
