"""The session: the only place that decides what the coach does.

How it works. The drill is a row of legs; `Progress` says which one is flown, when it began and where
its clock runs from. An event comes in, the transition table below finds what it means in the present
state, a new `Progress` replaces the old one (which is kept, for "disregard"), and what must be done
goes out as actions. Calls are worked out anew from `Progress` at every event (`calls.py`), so nothing
has to be cancelled: a call whose leg is gone is no longer in the table.

A word counts from its onset. If the leg time ran out between the onset and the understanding, the
step that the timer made is taken back first, and the word is judged where it was said.

Every event is safe in every state. No files, devices, clocks, threads, randomness.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from coach.drill.plan import Plan
from coach.session import grammar, prompts
from coach.session.actions import Action, Finish, Listen, Record, Show, Silence, Sound, Tone
from coach.session.calls import calls
from coach.session.events import (
    BookmarkMade,
    EdgeFailed,
    EdgeRecovered,
    Event,
    FeedBack,
    FeedLost,
    FixReceived,
    NoteMade,
    NotUnderstood,
    PhraseHeard,
    SessionStarted,
)
from coach.session.feed_hand import FeedHand
from coach.session.mastery import Mastery
from coach.session.outlook import FeedUse
from coach.session.phrases import PhraseTable
from coach.session.progress import (
    Hush,
    Progress,
    State,
    accepts_from_s,
    ends_at_s,
    enter,
    first_of_round,
    leg_of,
    start_mag_deg,
)
from coach.session.prompts import Talk
from coach.session.speech import Speech
from coach.session.surprised import ASKED_FOR, UNABLE, SurprisedSession, Surprises
from coach.session.teacher import Mode
from coach.session.view import described

EARLY_AGAIN_S = 5.0
"""An early word counts if it is said again within this."""

REPEAT_S = 10.0
"""The word that ended the last leg may be said again for so long: acknowledged, without effect."""

CONFIRM_S = 5.0
"""A leg time that moved the drill may be confirmed for so long, without effect."""

UNDO_WITHIN_S = 90.0
"""A step longer ago than this is not undone: the word was not meant for it, or not said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """What the pilot chose for the session."""

    talk: Talk = Talk.SHORT
    heading_check_s: float | None = 900.0
    """How often the heading indicator is asked about; None: slaved, never."""

    feed: FeedUse | None = None
    """How position is used; None: there is no feed, all goes by voice and clock."""

    mode: Mode = Mode.TOLD
    known: tuple[Mastery, ...] = ()
    """What the session before left of what the pilot knows; empty: nothing is known."""

    surprises: Surprises | None = None
    """What an instructor has switched on; None: nothing is sprung on anybody."""


class Session(SurprisedSession):
    """Flies one plan. `handle` takes an event and gives the actions; `next_wakeup_s` says when to wake it."""

    def __init__(self, plan: Plan, table: PhraseTable, options: Options | None = None) -> None:
        options = options or Options()
        feed = None if options.feed is None else FeedHand(options.feed, plan.tas_kt)
        super().__init__(feed, options.mode, options.known, options.surprises)
        self._plan = plan
        self._table = table
        self._speech = Speech(plan, talk=options.talk, heading_check_s=options.heading_check_s)
        self._speech.adapt = self._adapt
        self._early: PhraseHeard | None = None
        self._last_word: PhraseHeard | None = None
        self._misses = 0
        self._at_s = 0.0
        self._note = ""
        self._listening: tuple[str, ...] = ()
        self._shown: Show | None = None
        self._is_finished = False

    # ---- for the loop and the screens

    @property
    def progress(self) -> Progress:
        """Where the drill stands."""
        return self._progress

    @property
    def next_wakeup_s(self) -> float | None:
        """When `handle` wants a `Woken` at the latest; None: not before the next event."""
        if self._is_finished:
            return None
        wakes = [] if self._progress.hush is not Hush.NONE else self._speech.wakes(self._progress, self._at_s)
        if self._feed is not None and (remind_s := self._feed.reminds_at_s) is not None:
            wakes.append(remind_s)
        wakes += self._teaching_wakes()
        move_s = self._finishes_at_s() or self._moves_at_s()
        return min(wakes + ([] if move_s is None else [move_s]), default=None)

    def handle(self, event: Event) -> tuple[Action, ...]:
        """What follows from an event. Safe for every event in every state."""
        self._at_s = max(self._at_s, event.at_s)
        self._speech.floor.follow(event)
        actions = self._run_timer(self._at_s)
        actions += self._answer(event)
        actions += self._learn(event)
        actions += self._run_timer(self._at_s)
        actions += self._follow_feed()
        actions += self._teach()
        self._end_surprise()
        if self._progress.hush is Hush.NONE:
            calls_made, self._progress = self._speech.make_calls(self._progress, self._at_s)
            actions += calls_made
            self._note_said(calls_made)
        self._speech.count(actions, self._progress)
        return tuple(actions + self._tell_edges())

    # ---- events

    def _answer(self, event: Event) -> list[Action]:
        match event:
            case SessionStarted():
                start = start_mag_deg(self._plan, self._progress.leg_i)
                return self._say(prompts.ready(leg_of(self._plan, self._progress), start))
            case PhraseHeard():
                return self._hear(event)
            case FixReceived(fix=fix):
                return self._look(fix)
            case FeedLost() | FeedBack():
                return self._note_feed(event)
            case BookmarkMade(what=what, onset_s=onset_s):
                return [Record(what=f"bookmark: {what}", onset_s=onset_s)]
            case NoteMade(text=text, onset_s=onset_s):
                return [Record(what=f"note: {text}", onset_s=onset_s)]
            case NotUnderstood(onset_s=onset_s) if not self._speech.floor.was_sounding(onset_s):
                return self._miss()
            case EdgeFailed(edge=edge, reason=reason):
                self._note = f"{edge}: {reason}"
            case EdgeRecovered(edge=edge):
                self._note = f"{edge} is back"
        return []

    def _hear(self, heard: PhraseHeard) -> list[Action]:
        if heard.by == "voice" and self._is_own_sound(heard):
            return [Record(what=f"own words: {heard.phrase}", onset_s=heard.onset_s)]
        if self._progress.hush is Hush.SUSPENDED and heard.phrase != grammar.RESUME:
            return []
        standing = self._progress, self._before_timer
        self._take_back_timer(heard)
        answer = self._find_answer(heard)
        if answer is None:
            self._progress, self._before_timer = standing
            return self._miss(heard)
        self._misses = 0
        is_over_it = heard.by == "voice" and not self._is_seen(heard)
        cut = self._speech.give_way(self._at_s) if is_over_it else []
        return [*cut, *answer(self, heard)]

    def _is_own_sound(self, heard: PhraseHeard) -> bool:
        phrase = self._table.find_phrase(heard.phrase)
        ways = phrase.ways if phrase else (heard.phrase,)
        return self._speech.floor.is_own_sound(heard.onset_s, ways)

    def _find_answer(self, heard: PhraseHeard) -> Answer | None:
        if self._is_seen(heard) or self._is_confirmation(heard):
            return Session._acknowledge
        if self._is_called_out(heard):
            return Session._call_out
        if heard.phrase in self._usable():
            return ANSWERS.get(heard.phrase, Session._rejoin_spoke)
        return ANYTIME.get(heard.phrase) or self._find_repeat(heard)

    def _is_confirmation(self, heard: PhraseHeard) -> bool:
        """True for "next leg" said to the call that just moved the drill by itself."""
        progress = self._progress
        is_just_moved = progress.by_timer and 0.0 <= heard.onset_s - progress.begun_s < CONFIRM_S
        return is_just_moved and heard.phrase == grammar.NEXT

    def _usable(self) -> tuple[str, ...]:
        seen = () if self._feed is None else self._feed.words(self._progress, self._at_s)
        usable = grammar.phrases_for(self._plan, self._progress, can_undo=bool(self._before), seen=seen)
        return self._with_surprises(self._with_callout_words(usable))

    def _find_repeat(self, heard: PhraseHeard) -> Answer | None:
        last = self._last_word
        is_repeat = last and last.phrase == heard.phrase and heard.onset_s - last.onset_s < REPEAT_S
        return Session._acknowledge if is_repeat else None

    def _miss(self, heard: PhraseHeard | None = None) -> list[Action]:
        """One low tone, then "Use key", then silence until something is understood."""
        if self._progress.hush is not Hush.NONE:
            return []
        if heard is not None:
            self._note = f"{heard.phrase}: not on this leg"
        if self._teacher.asked is not None or self._hears_ts(self._at_s):
            # No key stands for an answer: the tone asks for it again, as often as there is time.
            self._teacher.note_misheard()
            return [Sound(tone=Tone.LOW)]
        self._misses += 1
        if self._misses == 1:
            return [Sound(tone=Tone.LOW)]
        return self._say(prompts.USE_KEY) if self._misses == 2 else []

    # ---- answers to the pilot's words

    def _move(self, heard: PhraseHeard) -> list[Action]:
        """A word that ends the present leg."""
        progress = self._progress
        again = self._find_early_before(heard)
        if again is None and heard.onset_s < accepts_from_s(self._plan, progress):
            self._early, self._last_word = heard, heard
            return self._say(prompts.EARLY)
        self._early, self._last_word = None, heard
        is_said = "said" in progress.issued
        silence = [] if is_said else self._speech.silence_if_sounding(self._at_s)
        onset_s = max(progress.begun_s, (again or heard).onset_s)
        following = progress.leg_i + (progress.state is State.FLYING)
        fresh = enter(self._plan, progress, following, onset_s=onset_s)
        record = self._step(
            replace(fresh, issued=fresh.issued | ({"opened"} if is_said else set())), heard.onset_s
        )
        return [*silence, *record, *(self._say_leg() or [Sound(tone=Tone.HEARD)])]

    def _find_early_before(self, heard: PhraseHeard) -> PhraseHeard | None:
        early = self._early
        if early is None or early.phrase != heard.phrase or heard.onset_s > early.at_s + EARLY_AGAIN_S:
            return None
        return early

    def _establish(self, heard: PhraseHeard) -> list[Action]:
        fresh = replace(self._progress, established_s=heard.onset_s)
        return [*self._step(fresh, heard.onset_s), Sound(tone=Tone.HEARD)]

    def _level(self, heard: PhraseHeard) -> list[Action]:
        """The timer restarts at wings level; calls that hang on it are made anew."""
        silence: list[Action] = [Silence()] if "turn" in self._progress.issued else []
        fresh = replace(self._progress, level_s=heard.onset_s, issued=self._progress.issued - {"ten", "turn"})
        return [*silence, *self._step(fresh, heard.onset_s), Sound(tone=Tone.HEARD)]

    def _disregard(self, heard: PhraseHeard) -> list[Action]:
        """Undo the last step: the old timer stands as if never touched."""
        stepped_s, before = self._before[-1]
        if heard.onset_s - stepped_s > UNDO_WITHIN_S:
            self._note = "Nothing to undo"
            return [Sound(tone=Tone.LOW)]
        self._before.pop()
        silence = self._speech.silence_if_sounding(self._at_s)
        self._progress = replace(before, hush=self._progress.hush)
        self._before_timer, self._early, self._last_word = None, None, None
        self._note = "Undone"
        undone = Record(what=f"undone: {described(self._plan, self._progress)}", onset_s=heard.onset_s)
        return [*silence, Sound(tone=Tone.HEARD), undone]

    def _suspend(self, _: PhraseHeard) -> list[Action]:
        """Silence at once; nothing moves and nothing is said until "resume drill"."""
        return self._hush(Hush.SUSPENDED)

    def _stand_by(self, _: PhraseHeard) -> list[Action]:
        """Speech stops, the timer runs, due calls are dropped."""
        return self._hush(Hush.STANDING_BY)

    def _hush(self, hush: Hush) -> list[Action]:
        self._early = None
        self._progress = replace(self._without_turn_call(), hush=hush)
        return self._speech.silence(self._at_s)

    def _resume(self, _: PhraseHeard) -> list[Action]:
        """One line: the leg, and how long is left or over. A leg whose time is over waits for the word."""
        progress = replace(self._progress, hush=Hush.NONE)
        end_s = ends_at_s(self._plan, progress)
        due = calls(self._plan, progress, self._speech.talk, heading_check_due=False)
        past = {call.name for call in due if call.due_s <= self._at_s}
        is_over = end_s is not None and end_s <= self._at_s
        self._progress = replace(progress, waits_for_word=is_over, issued=progress.issued | past)
        return self._say(self._line_on_resume())

    def _rejoin(self, heard: PhraseHeard) -> list[Action]:
        """Back by the station: the spoke, lap or drill that was interrupted begins again."""
        return self._go_to_leg(first_of_round(self._plan, self._progress.leg_i), heard)

    def _rejoin_spoke(self, heard: PhraseHeard) -> list[Action]:
        spoke = grammar.spoke_of(heard.phrase, self._plan.drill.spokes)
        if spoke is None:
            return self._acknowledge(heard)
        leg_i = next((i for i, leg in enumerate(self._plan.legs) if leg.leg.spoke == spoke), 0)
        return self._go_to_leg(leg_i, heard)

    def _go_to_leg(self, leg_i: int, heard: PhraseHeard) -> list[Action]:
        silence = self._speech.silence_if_sounding(self._at_s)
        fresh = Progress(state=State.ARRIVING, leg_i=leg_i, is_rejoin=True, begun_s=heard.onset_s)
        record = self._step(fresh, heard.onset_s)
        return [*silence, *record, *self._say(self._line_on_resume())]

    # ---- speaking and telling the edges

    def _say(self, text: str, *, is_asked: bool = False) -> list[Action]:
        """Say it unless the pilot wants quiet; standing by, only what was asked for."""
        hush = self._progress.hush
        if hush is Hush.SUSPENDED or (hush is Hush.STANDING_BY and not is_asked):
            return []
        self._note = text
        return self._speech.answer(text, self._at_s)

    def _tell_edges(self) -> list[Action]:
        actions: list[Action] = []
        if (listening := self._usable()) != self._listening:
            self._listening = listening
            actions.append(Listen(phrases=listening))
        if (expected := self._expected()) != self._expecting:
            self._expecting = expected
            actions.append(expected)
        if (shown := self._view()) != self._shown:
            self._shown = shown
            actions.append(shown)
        end_s = self._finishes_at_s()
        if end_s is not None and end_s <= self._at_s and not self._is_finished:
            self._is_finished = True
            actions.append(Finish())
        return actions


Answer = Callable[[Session, PhraseHeard], list[Action]]

ANSWERS: Mapping[str, Answer] = {
    grammar.PASSAGE: Session._move,
    grammar.NEXT: Session._move,
    grammar.ALIVE: Session._move,
    grammar.ESTABLISHED: Session._establish,
    grammar.LEVEL: Session._level,
    grammar.ABEAM: Session._level,
    grammar.CENTERED: Session._center,
    grammar.SAY_AGAIN: Session._say_again,
    grammar.STAND_BY: Session._stand_by,
    grammar.RESUME: Session._resume,
    grammar.DISREGARD: Session._disregard,
    grammar.REJOIN: Session._rejoin,
    grammar.WHERE: Session._where,
    grammar.TIME: Session._time,
    grammar.BOOKMARK: Session._bookmark,
    grammar.MORE: Session._change_talk,
    grammar.LESS: Session._change_talk,
    UNABLE: Session._unable,
    ASKED_FOR: Session._spring,
    grammar.TERMINATE: Session._suspend,
    grammar.TRAFFIC: Session._suspend,
    grammar.I_HAVE: Session._suspend,
    grammar.YOU_HAVE: Session._suspend,
}
"""What each phrase does where `grammar.phrases_for` lets it be used: the transition table."""

ANYTIME: Mapping[str, Answer] = {grammar.MUTE: Session._suspend}
"""What works in every state, by key."""
