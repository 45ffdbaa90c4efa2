"""The simulated pilot: flies the drill from the card, the instruments and the coach's sound.

Never sees the session, the plan, the position or the wind. He turns when the coach says so, calls what
the needle shows, leads the last turn by the needle's movement, and says again what was not answered.

A pilot's eye and hand take time: each reaction is drawn from a seeded range. Reaction to a checkpoint
seen on the dial 0.5-1.5 s (the issue's range; Doc 8168 designs for 6 s, R9); to a prompt that was
announced ten seconds before 0.2-0.6 s (common experience, no source).
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, auto

from coach.drill.model import Ending, Leg, TimerFrom, Turn
from coach.nav.angles import difference_deg, left_turn_deg, right_turn_deg, shorter_turn_deg
from coach.nav.turn import lead_s
from coach.nav.vor import Flag
from coach.rehearsal.card import Card
from coach.rehearsal.needle import Needle
from coach.rehearsal.talker import RESUME_PHRASE, Talker, Word
from coach.rehearsal.tracker import Tracker
from coach.session.actions import Tone
from coach.session.spoken import parse_digit_words

SEEN_S = (0.5, 1.5)
TOLD_S = (0.2, 0.6)
"""Reactions: to a dial, to a prompt."""

HALF_WAY_DEG = 90.0
"""Half of the turn of 180 degrees: before it the needle's leaving the stop means nothing."""

WIDEST_LEAD_DEG = 135.0
"""With more than this still to turn, the needle's movement does not yet tell when to lead."""

ESTABLISHED_DEG = 5.0
"""Half scale (ICAO Doc 8168; value from memory)."""

ESTABLISHED_HEADING_DEG = 10.0
STEADY_DEG_S = 0.2
ESTABLISHED_FOR_S = 2.0
"""So long it must hold before the word is said (our own choice)."""

CONE_DEG_S = 0.5
"""The needle leaves the centre faster than this: the station is near, corrections stop (common practice)."""

OVERDUE_S = 20.0
"""A time call this late by his own clock does not come; a word that took a key may delay it by ten."""

TURN_AT_MOST_S = 40.0
"""The turn before a leg that is timed from wings level."""

OPENS_LEG = {"left", "right", "outbound", "inbound", "direct"}
"""First words of prompts that open a leg."""

SILENT_S = 10.0
"""A coach who says nothing to a leg begun without him has been silenced."""

MOVING_WORDS = ("station passage", "needle alive", "next leg")
"""His words that the coach answers with the leg they begin."""

LEVEL_DEG = 1.0
STEP_S = 0.1
"""How often the pilot looks and steers."""


@dataclass(frozen=True, slots=True)
class Instruments:
    """All that he sees."""

    at_s: float
    heading_mag_deg: float
    needle_deg: float
    """Right positive, held at full scale."""

    flag: Flag


@dataclass(frozen=True, slots=True, kw_only=True)
class LegBegun:
    """The pilot has begun the turn of a leg."""

    n: int
    """0 for the way to the station."""

    at_s: float
    what: str = ""
    """The leg in the card's words, for the line that is printed."""


class Stage(Enum):
    """What the pilot is busy with."""

    TRACKING = auto()
    HOLDING = auto()
    """A heading, as told."""

    DONE = auto()


class Pilot:
    """One flight. `fly` is called at every step; sounds come in between."""

    def __init__(self, card: Card, *, seed: int, only_keys: bool, full_scale_deg: float) -> None:
        self._card = card
        self._random = random.Random(f"pilot {seed}")
        self._talker = Talker(only_keys=only_keys)
        self._needle = Needle(full_scale_deg)
        self._tracker = Tracker(card.tas_kt)
        self._due: list[tuple[float, Callable[[Instruments], None]]] = []
        self._leg_i = -1
        self._stage = Stage.TRACKING
        self._heading_mag_deg = float(card.arrive_course_mag_deg)
        self._way = Turn.NONE
        self._was_to = False
        self._begun_heading_mag_deg = self._heading_mag_deg
        self._is_alive = self._is_level_said = self._is_established = self._is_in_cone = False
        self._steady_since_s: float | None = None
        self._side = 0.0
        self._silent_from_s: float | None = None
        self.course_mag_deg = card.arrive_course_mag_deg
        """What the course selector is set to."""

        self.begun: list[LegBegun] = [LegBegun(n=0, at_s=0.0)]
        self._tracker.begin(self.course_mag_deg)

    # ------------------------------------------------------------------ what reaches him

    def hear_tone(self, tone: Tone) -> None:
        """A tone in the headset."""
        if tone is Tone.HEARD:
            self._talker.hear_answer()

    def hear_prompt(self, text: str, at_s: float) -> None:
        """A prompt begins to sound."""
        self._silent_from_s = None
        if text == "Early":
            self._talker.hear_early(at_s)
        elif text == "Use key":
            self._talker.hear_use_key(at_s)
        elif text == "Hold heading":
            self._is_in_cone = self._is_established
        elif text.startswith("Drill complete"):
            self._hear_complete(at_s)
        elif " leg" in text:
            self._hear_where(text, at_s)
        elif _first_word(text) in OPENS_LEG:
            self._hear_leg(text, at_s)

    def _hear_complete(self, at_s: float) -> None:
        if self._find_following() is not None:
            self._contradict(at_s)
            return
        self._talker.hear_answer()
        self._in(TOLD_S, at_s, self._stop)

    def _hear_leg(self, text: str, at_s: float) -> None:
        """A prompt that opens a leg: an answer to his word, an order to turn, or a mistake of the coach's."""
        following = self._find_following()
        is_next = following is not None and _is_told(following, text) and self._expects_leg(at_s)
        if not is_next and not (self._leg_i >= 0 and _is_told(self._leg, text)):
            self._contradict(at_s)
            return
        self._talker.hear_answer()
        if is_next and self._is_timed():
            self._in(TOLD_S, at_s, self._begin_next)

    def _hear_where(self, text: str, at_s: float) -> None:
        """ "Offset leg, twelve over": where the coach stands after "resume drill"; he may be behind."""
        if self._talker.has_said(RESUME_PHRASE, at_s):
            self._talker.hear_answer()
        is_behind = self._leg_i > 0 and _first_word(text) == self._card.legs[self._leg_i - 1].leg
        if is_behind and not self._talker.is_waiting:
            self._talker.want("next leg", at_s + self._random.uniform(*SEEN_S))

    def _expects_leg(self, at_s: float) -> bool:
        return self._is_timed() or any(self._talker.has_said(word, at_s) for word in MOVING_WORDS)

    def _contradict(self, at_s: float) -> None:
        """The coach has taken a sound for a word and gone astray: the last step is undone."""
        self._talker.want("disregard", at_s + self._random.uniform(*SEEN_S))

    def find_word(self, at_s: float) -> Word | None:
        """Return what he says or presses now; None: nothing."""
        return self._talker.find_word(at_s)

    # ------------------------------------------------------------------ flying

    def fly(self, seen: Instruments) -> float:
        """Look at the instruments and return how far to turn from here, right positive, 0 straight."""
        self._needle.watch(seen.at_s, seen.needle_deg)
        while self._due and self._due[0][0] <= seen.at_s:
            self._due.pop(0)[1](seen)
        if self._silent_from_s is not None and seen.at_s - self._silent_from_s > SILENT_S:
            self._silent_from_s = None
            self._talker.want(RESUME_PHRASE, seen.at_s)
        if self._stage is Stage.DONE:
            return shorter_turn_deg(seen.heading_mag_deg, self._heading_mag_deg)
        self._look_for_checkpoint(seen)
        if self._stage is Stage.TRACKING:
            self._heading_mag_deg = self._track(seen.heading_mag_deg)
        turn_deg = self._turn_left_deg(seen.heading_mag_deg)
        self._look_for_level(seen, turn_deg)
        return turn_deg

    def _track(self, heading_mag_deg: float) -> float:
        needle = self._needle
        leaves_fast = not needle.is_closing and abs(needle.rate_deg_s) > CONE_DEG_S
        if self._is_inbound() and self._is_established and leaves_fast:
            self._is_in_cone = True
        if self._is_in_cone:
            return self._tracker.holding_mag_deg
        return self._tracker.steer(needle, heading_mag_deg, STEP_S)

    def _turn_left_deg(self, heading_mag_deg: float) -> float:
        """How far to turn; the way of the leg's turn is kept until less than 90 degrees are left."""
        target = self._heading_mag_deg
        shorter = shorter_turn_deg(heading_mag_deg, target)
        if self._way is Turn.NONE:
            return shorter
        is_left = self._way is Turn.LEFT
        long_way = (
            -left_turn_deg(heading_mag_deg, target) if is_left else right_turn_deg(heading_mag_deg, target)
        )
        if abs(long_way) <= 90.0 or abs(long_way) > 270.0:
            self._way = Turn.NONE
            return shorter
        return long_way

    # ------------------------------------------------------------------ checkpoints

    def _look_for_checkpoint(self, seen: Instruments) -> None:
        ends_on = Ending.PASSAGE if self._leg_i < 0 else self._leg.ends_on
        if ends_on is Ending.PASSAGE:
            self._look_for_established(seen)
            self._look_for_passage(seen)
        elif ends_on is Ending.INTERCEPT:
            self._look_for_needle(seen)
        else:
            self._look_at_clock(seen)

    def _look_at_clock(self, seen: Instruments) -> None:
        """The panel clock stays the clock: where no time call comes he turns by it and tells the coach."""
        turn_s = TURN_AT_MOST_S if self._card.timer_from is TimerFrom.LEVEL else 0.0
        over_s = seen.at_s - self.begun[-1].at_s - (self._leg.leg_s or 0.0) - turn_s
        if over_s > OVERDUE_S and not self._due:
            self._talker.want("next leg", seen.at_s)
            self._silent_from_s = seen.at_s
            self._begin_next(seen)

    def _look_for_passage(self, seen: Instruments) -> None:
        """The first complete reversal of TO/FROM (AIM 5-3-8g)."""
        if seen.flag is Flag.TO:
            self._was_to = True
        elif seen.flag is Flag.FROM and self._was_to:
            self._was_to = False
            at_s = seen.at_s + self._random.uniform(*SEEN_S)
            self._talker.want("station passage", at_s)
            self._at(at_s, self._begin_next if self._find_following() else self._hold)

    def _look_for_needle(self, seen: Instruments) -> None:
        """Needle alive, then the lead of the last turn, from half-way round the turn of 180 degrees on."""
        turned_deg = abs(difference_deg(seen.heading_mag_deg, self._begun_heading_mag_deg))
        if self._way is not Turn.NONE and turned_deg < HALF_WAY_DEG:
            return
        needle = self._needle
        if not self._is_alive and needle.has_been_at_stop and not needle.is_at_stop:
            self._call_alive(seen.at_s)
        if not needle.is_at_stop and self._is_time_to_lead(seen):
            if not self._is_alive:
                self._call_alive(seen.at_s)
            self._begin_next(seen)

    def _call_alive(self, at_s: float) -> None:
        self._is_alive = True
        self._talker.want("needle alive", at_s + self._random.uniform(*SEEN_S))

    def _is_time_to_lead(self, seen: Instruments) -> bool:
        needle = self._needle
        side = 1.0 if needle.deg > 0 else -1.0
        if self._side == 0.0:
            self._side = side
        if side != self._side:
            return True
        following = self._find_following()
        centre_in_s = needle.find_centre_in_s()
        if following is None or centre_in_s is None:
            return False
        self._tracker.begin(following.course_mag_deg or self.course_mag_deg)
        turn_deg = abs(shorter_turn_deg(seen.heading_mag_deg, self._tracker.holding_mag_deg))
        return turn_deg < WIDEST_LEAD_DEG and centre_in_s <= lead_s(turn_deg)

    def _look_for_established(self, seen: Instruments) -> None:
        if self._is_established or self._talker.is_waiting:
            return
        needle, holding = self._needle, self._tracker.holding_mag_deg
        is_steady = needle.is_closing or abs(needle.rate_deg_s) <= STEADY_DEG_S
        heading_off_deg = abs(difference_deg(seen.heading_mag_deg, holding))
        if not is_steady or abs(needle.deg) > ESTABLISHED_DEG or heading_off_deg > ESTABLISHED_HEADING_DEG:
            self._steady_since_s = None
            return
        if self._steady_since_s is None:
            self._steady_since_s = seen.at_s
        if seen.at_s - self._steady_since_s >= ESTABLISHED_FOR_S:
            self._is_established = True
            if self._leg_i >= 0:
                self._talker.want("established", seen.at_s + self._random.uniform(*SEEN_S))

    def _look_for_level(self, seen: Instruments, turn_deg: float) -> None:
        if self._card.timer_from is not TimerFrom.LEVEL or not self._is_timed() or self._is_level_said:
            return
        if self._way is Turn.NONE and abs(turn_deg) < LEVEL_DEG:
            self._is_level_said = True
            self._talker.want("wings level", seen.at_s + self._random.uniform(*TOLD_S))

    # ------------------------------------------------------------------ legs

    @property
    def _leg(self) -> Leg:
        return self._card.legs[self._leg_i]

    def _find_following(self) -> Leg | None:
        i = self._leg_i + 1
        return self._card.legs[i] if i < len(self._card.legs) else None

    def _is_timed(self) -> bool:
        return self._leg_i >= 0 and self._leg.ends_on is Ending.TIME

    def _is_inbound(self) -> bool:
        return self._leg_i < 0 or self._leg.ends_on is Ending.PASSAGE

    def _begin_next(self, seen: Instruments) -> None:
        """Begin the next leg: its turn, its course, and all eyes on its checkpoint."""
        if self._stage is Stage.TRACKING:
            self._tracker.learn_wind(self._needle, seen.heading_mag_deg)
        self._leg_i += 1
        leg = self._leg
        self.begun.append(LegBegun(n=leg.n, at_s=seen.at_s, what=_as_printed(leg)))
        self._way = leg.turn
        self._begun_heading_mag_deg = seen.heading_mag_deg
        self._set_course(leg)
        self._is_alive = self._is_level_said = self._is_established = self._is_in_cone = self._was_to = False
        self._steady_since_s, self._side = None, 0.0
        self._stage = Stage.TRACKING if leg.tracks else Stage.HOLDING
        if leg.tracks:
            self._tracker.begin(self.course_mag_deg)
        else:
            self._heading_mag_deg = float(leg.heading_mag_deg or self._heading_mag_deg)

    def _set_course(self, leg: Leg) -> None:
        if leg.course_mag_deg is not None and leg.course_mag_deg != self.course_mag_deg:
            self.course_mag_deg = leg.course_mag_deg
            self._needle.restart()

    def _hold(self, seen: Instruments) -> None:
        """After the last passage: the heading he is on."""
        self._stage, self._heading_mag_deg, self._way = Stage.HOLDING, seen.heading_mag_deg, Turn.NONE

    def _stop(self, seen: Instruments) -> None:
        self._hold(seen)
        self._stage = Stage.DONE

    # ------------------------------------------------------------------ reactions

    def _in(self, reaction_s: tuple[float, float], at_s: float, act: Callable[[Instruments], None]) -> None:
        self._at(at_s + self._random.uniform(*reaction_s), act)

    def _at(self, at_s: float, act: Callable[[Instruments], None]) -> None:
        self._due.append((at_s, act))
        self._due.sort(key=lambda entry: entry[0])


def _as_printed(leg: Leg) -> str:
    spoke = "" if leg.spoke is None else f"spoke {leg.spoke} "
    heading = "" if leg.heading_mag_deg is None else f" {leg.heading_mag_deg:03d}"
    way = "" if leg.turn is Turn.NONE else f", turns {leg.turn}"
    return f"{spoke}{leg.leg}{heading}{way}"


def _first_word(text: str) -> str:
    return text.replace(",", " ").replace(".", " ").split()[0].lower()


def _is_told(leg: Leg, text: str) -> bool:
    """Whether a prompt opens this leg: its way or name, and its heading or course where one is said."""
    first = _first_word(text)
    digits = parse_digit_words(text[len(first) :].strip(" ,."))
    fits = digits is None or int(digits) == (leg.heading_mag_deg or leg.course_mag_deg)
    return fits and first in (leg.turn, leg.leg)
