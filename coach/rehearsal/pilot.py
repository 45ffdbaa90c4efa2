"""The simulated pilot: flies the drill from the card, the instruments and the coach's sound.

Never sees the session, the plan, the position or the wind. He turns when the coach says so, calls what
the needle shows, leads the last turn by the needle's movement, says again what was not answered, and sets
a coach right who has taken noise for a word.

A pilot's eye and hand take time: each reaction is drawn from a seeded range. Reaction to a checkpoint
seen on the dial 0.5-1.5 s (our own choice; Doc 8168 designs for 6 s, R9); to a prompt that was announced
ten seconds before 0.2-0.6 s (common experience, no source).
"""

from __future__ import annotations

from coach.drill.model import Ending, TimerFrom
from coach.nav.angles import difference_deg, reciprocal_deg, shorter_turn_deg
from coach.nav.turn import turn_time_s
from coach.rehearsal.flying import TOLD_S, FlyingPilot
from coach.rehearsal.reached import Reached
from coach.rehearsal.talker import RESUME_PHRASE, Word
from coach.rehearsal.told import first_word, is_opening, is_standing, is_told
from coach.rehearsal.watch import Instruments
from coach.session.actions import Tone

OWN_CLOCK_S = 0.3
"""So late he turns by his own clock where he has to keep the time himself."""

OVERDUE_S = 20.0
"""A time call this late by his own clock does not come; a word that took a key may delay it by ten."""

TURN_AT_MOST_S = 40.0
"""The turn before a leg that is timed from wings level, unless it takes longer at standard rate."""

SLOW_TURN_S = 15.0
"""So much longer a turn may take, abeam included."""

CORRECTED_AT_MOST_S = 240.0
"""So much longer a time may become that is corrected lap by lap."""

SILENT_S = 10.0
"""A coach who says nothing to a leg begun without him has been silenced."""

BEGINS_S = 60.0
"""After so long on the heading he begins a drill that waits for his word."""

MOVING_WORDS = ("station passage", "needle alive", "next leg", "established")
"""His words that the coach answers with the leg they begin."""


class Pilot(FlyingPilot):
    """One flight. `fly` is called at every step; sounds come in between."""

    # ------------------------------------------------------------------ what reaches him

    def hear_tone(self, tone: Tone) -> None:
        """A tone in the headset."""
        if self._answering is not None:
            self._answering.hear_tone(tone)
        if tone is Tone.HEARD:
            self._talker.hear_answer()

    def hear_prompt(self, text: str, at_s: float) -> None:
        """A prompt begins to sound."""
        self._silent_from_s = None
        self._card = self._amend(text) or self._card
        if self._answering is not None:
            self._answering.take_card(self._card)
            self._answering.hear_prompt(text, at_s)
        if text == "Early":
            self._talker.hear_early(at_s)
        elif text == "Use key":
            self._talker.hear_use_key(at_s)
        elif text == "Hold heading":
            self._steering.is_steadied = self._noted.established
        elif text.startswith("Drill complete"):
            self._hear_complete(at_s)
        elif is_standing(text):
            self._hear_standing(text, at_s)
        elif is_opening(text, self._own_words):
            self._hear_opening(text, at_s)

    @property
    def has_word(self) -> bool:
        """Whether he has a word for the coach, said or not, that is unanswered."""
        return self._talker.is_waiting

    def find_word(self, at_s: float) -> Word | None:
        """Return what he says or presses now; None: nothing."""
        word = self._talker.find_word(at_s)
        return word if word or self._answering is None else self._answering.find_word(at_s)

    def _hear_complete(self, at_s: float) -> None:
        if self._find_following() is not None:
            self._contradict(at_s)
            return
        self._talker.hear_answer()
        if self._is_timed():
            self._at(at_s, self._stop)

    def _hear_opening(self, text: str, at_s: float) -> None:
        """An answer to his word, an order to turn, or a mistake of the coach's."""
        following = self._find_following()
        is_present = self._leg_i >= 0 and is_told(self._leg, text)
        is_answer = is_present and self._talker.is_waiting
        is_next = following is not None and is_told(following, text) and self._expects_leg(at_s)
        is_next = is_next and not is_answer
        if not is_next and not is_present:
            self._contradict(at_s)
            return
        self._talker.hear_answer()
        if is_next and self._is_timed():
            self._in(TOLD_S, at_s, self._find_beginning())

    def _hear_standing(self, text: str, at_s: float) -> None:
        """Where the coach stands after "resume drill"; he may be behind."""
        if self._talker.has_said(RESUME_PHRASE, at_s):
            self._talker.hear_answer()
        is_behind = self._leg_i > 0 and first_word(text) == self._card.legs[self._leg_i - 1].leg
        if is_behind and not self._talker.is_waiting:
            self._want("next leg", at_s)

    def _expects_leg(self, at_s: float) -> bool:
        return (
            self._has_feed
            or self._is_timed()
            or any(self._talker.has_said(word, at_s) for word in MOVING_WORDS)
        )

    def _contradict(self, at_s: float) -> None:
        """The coach has taken a sound for a word and gone astray: the last step is undone."""
        self.contradicted.append(at_s)
        self._want("disregard", at_s)

    # ------------------------------------------------------------------ flying

    def fly(self, seen: Instruments) -> float:
        """Look at the instruments and return how far to turn from here, right positive, 0 straight."""
        self._needle.watch(seen.at_s, seen.needle_deg)
        while self._due and self._due[0][0] <= seen.at_s:
            self._due.pop(0)[1](seen)
        self._ask_silent_coach(seen.at_s)
        if not self._is_done:
            self._look_for_checkpoint(seen)
        self._keep_arc(seen)
        turn_deg = self._steering.steer(seen.heading_mag_deg)
        wrong_deg = self._wrong_turn.find_turn(seen.at_s, turn_deg)
        if wrong_deg is not None:
            return wrong_deg
        self._is_level = self._steering.is_level(turn_deg)
        self._look_for_level(seen)
        return turn_deg

    # ------------------------------------------------------------------ checkpoints

    def _look_for_checkpoint(self, seen: Instruments) -> None:
        if self._leg_i < 0 and self._card.begins_on is not Ending.PASSAGE:
            self._look_for_beginning(seen)
        elif self._reached is not None:
            self._look_at_dials(seen, self._reached)
        elif self._leg_i >= 0 and self._leg.ends_on is Ending.ESTABLISHED:
            self._look_for_joined(seen)
        elif self.is_inbound:
            self._look_for_established(seen)
            self._look_for_cone()
            self._look_for_passage(seen)
        elif self._is_timed():
            self._look_at_clock(seen)
        else:
            self._look_for_needle(seen)

    def _look_for_beginning(self, seen: Instruments) -> None:
        """The drill waits for his word, on the heading it begins on."""
        if seen.at_s >= BEGINS_S and not self._due and not self._talker.is_waiting:
            self._end_leg("next leg", seen.at_s)

    def _look_at_dials(self, seen: Instruments, reached: Reached) -> None:
        if not self._noted.ended and reached.is_reached(seen, is_level=self._is_level):
            self._noted.ended = True
            self._end_leg("next leg", seen.at_s)

    def _look_for_joined(self, seen: Instruments) -> None:
        if not self._noted.established and self._watch.sees_established(seen, self._tracker.holding_mag_deg):
            self._noted.established = True
            self._end_leg("established", seen.at_s)

    def _look_for_passage(self, seen: Instruments) -> None:
        if self._watch.sees_passage(seen):
            self._end_leg("station passage", seen.at_s)

    def _look_for_cone(self) -> None:
        if self._noted.established and self._steering.is_tracking and self._watch.sees_cone():
            self._steering.is_steadied = True

    def _look_at_clock(self, seen: Instruments) -> None:
        """The panel clock stays the clock: where no time call comes he turns by it and tells the coach."""
        turn_s = 0.0
        if self._timing() is not TimerFrom.TURN:
            turn_s = max(TURN_AT_MOST_S, turn_time_s(self._leg.turn_deg) + SLOW_TURN_S)
        if self._leg.corrects_for is not None:
            # Only the coach knows how long it is this time.
            turn_s += CORRECTED_AT_MOST_S
        over_s = seen.at_s - self.begun[-1].at_s - (self._leg.leg_s or 0.0) - turn_s
        if self._answering is not None and self._answering.keeps_time and self._leg.corrects_for is None:
            self._turn_by_clock(seen)
        elif over_s > OVERDUE_S:
            self._talker.want("next leg", seen.at_s)
            self._silent_from_s = seen.at_s
            self._find_beginning()(seen)

    def _turn_by_clock(self, seen: Instruments) -> None:
        """A coach who asks may leave the time to him; he says nothing, since the leg time moves the drill."""
        level_s = self._noted.level_s
        up_s = self._time_up_s if level_s is None else level_s + (self._leg.leg_s or 0.0)
        if up_s is not None and not self._due and seen.at_s > up_s + OWN_CLOCK_S:
            self._find_beginning()(seen)

    def _look_for_needle(self, seen: Instruments) -> None:
        """Needle alive, then the lead of the last turn, from half-way round the turn of 180 degrees on."""
        if self._steering.is_on_way_round and not self._watch.is_half_way_round(seen):
            return
        if self._watch.sees_needle_alive():
            self._call_alive(seen.at_s)
        following = self._find_following()
        if following is None:
            return
        self._tracker.begin(following.course_mag_deg or self.course_mag_deg)
        turn_deg = abs(shorter_turn_deg(seen.heading_mag_deg, self._tracker.holding_mag_deg))
        if self._watch.sees_lead_point(turn_deg):
            self._call_alive(seen.at_s)
            self._begin_late(seen)

    def _begin_late(self, seen: Instruments) -> None:
        """Begin the next leg, as late as he is."""
        if self._habits.late_s <= 0.0:
            self._begin_next(seen)
        elif not self._noted.leading:
            self._noted.leading = True
            self._at(seen.at_s + self._habits.late_s, self._find_beginning())

    def _call_alive(self, at_s: float) -> None:
        if not self._noted.alive:
            self._noted.alive = True
            self._want("needle alive", at_s)

    def _look_for_established(self, seen: Instruments) -> None:
        if self._noted.established or self._talker.is_waiting:
            return
        self._noted.established = self._watch.sees_established(seen, self._tracker.holding_mag_deg)
        if self._noted.established and self._leg_i >= 0:
            self._want("established", seen.at_s)

    def _look_for_level(self, seen: Instruments) -> None:
        if not self._is_timed() or self._timing() is TimerFrom.TURN or self._noted.level:
            return
        if self._noted.over_station:
            # The word of passage comes first.
            if not self._talker.is_waiting:
                self._look_for_abeam(seen)
        elif self._is_level:
            self._noted.level, self._noted.level_s = True, seen.at_s
            self._talker.want("wings level", seen.at_s + self._random.uniform(*TOLD_S))

    def _look_for_abeam(self, seen: Instruments) -> None:
        """The bearing pointer falls through the wing-tip mark of the outbound course."""
        outbound_mag_deg = reciprocal_deg(self.course_mag_deg)
        if abs(difference_deg(seen.radial_mag_deg, outbound_mag_deg)) > 90.0:
            return
        if not self._steering.is_on_way_round:
            self._noted.level, self._noted.level_s = True, seen.at_s
            self._talker.want("abeam", seen.at_s + self._random.uniform(*TOLD_S))

    def _ask_silent_coach(self, at_s: float) -> None:
        if self._silent_from_s is not None and at_s - self._silent_from_s > SILENT_S:
            self._silent_from_s = None
            self._talker.want(RESUME_PHRASE, at_s)
