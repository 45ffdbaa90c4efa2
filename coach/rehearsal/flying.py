"""The simulated pilot's flying: the leg he is on, how he begins the next, what he keeps.

Never hears the coach and never looks for a checkpoint: that is `coach.rehearsal.pilot`.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass

from coach.drill.flown import OVER_STATION_NM
from coach.drill.model import Clock, Ending, Leg, TimerFrom, Turn
from coach.nav.angles import difference_deg, reciprocal_deg, wrap_deg
from coach.nav.dme_arc import Arc
from coach.rehearsal.answering import Answering
from coach.rehearsal.card import Card
from coach.rehearsal.habits import Habits, WrongTurn
from coach.rehearsal.needle import Needle
from coach.rehearsal.reached import SEEN_BY_DIALS, Reached
from coach.rehearsal.steering import Steering
from coach.rehearsal.talker import Talker
from coach.rehearsal.told import as_printed
from coach.rehearsal.tracker import Tracker
from coach.rehearsal.watch import Instruments, Watch

SEEN_S = (0.5, 1.5)
TOLD_S = (0.2, 0.6)
"""Reactions: to a dial, to a prompt."""

Act = Callable[[Instruments], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class LegBegun:
    """The pilot has begun the turn of a leg."""

    n: int
    """0 for the way to the station."""

    at_s: float
    what: str = ""
    """The leg in the card's words, for the line that is printed."""


@dataclass(slots=True)
class _Noted:
    """What he has noted on the present leg."""

    ended: bool = False
    alive: bool = False
    leading: bool = False
    level: bool = False
    level_s: float | None = None
    """When he started the clock: wings level, or abeam."""

    over_station: bool = False
    """The leg began over the station, and its time counts from abeam."""

    established: bool = False


class FlyingPilot:
    """One pilot in one aircraft, leg after leg."""

    def __init__(
        self,
        card: Card,
        *,
        seed: int,
        only_keys: bool,
        full_scale_deg: float,
        has_feed: bool = False,
        is_mute: bool = False,
        habits: Habits | None = None,
        answering: Answering | None = None,
        amend: Callable[[str], Card | None] = lambda _text: None,
    ) -> None:
        """`has_feed`: the coach may see for itself and speak first; `is_mute`: he says nothing at all then.

        `habits` None: he does as he should. `answering` None: he is told everything and answers nothing.
        `amend` gives the card after a prompt that changes the drill.
        """
        self._amend = amend
        self._answering = answering
        self._card = card
        self._random = random.Random(f"pilot {seed}")
        self._habits = habits or Habits()
        self._has_feed = has_feed or is_mute
        self._talker = Talker(only_keys=only_keys, is_mute=is_mute)
        self._needle = Needle(full_scale_deg)
        self._tracker = Tracker(card.tas_kt, overcorrection=self._habits.overcorrection)
        self._due: list[tuple[float, Act]] = []
        self._leg_i = -1
        self._steering = Steering(self._needle, self._tracker)
        self._watch = Watch(self._needle, card.arrive_course_mag_deg)
        self._noted = _Noted()
        self._time_up_s: float | None = None
        self._is_done = False
        self._silent_from_s: float | None = None
        self._wrong_turn = WrongTurn(self._habits.wrong_turns, self._random)
        self.contradicted: list[float] = []
        """When the coach said what did not fit where he was."""

        self.course_mag_deg = card.arrive_course_mag_deg
        """What the course selector is set to."""

        self.begun: list[LegBegun] = [LegBegun(n=0, at_s=0.0)]
        self._reached: Reached | None = None
        self._own_words = {words for leg in card.legs for words in (leg.leg, leg.says) if words is not None}
        self._is_level = False
        if card.begins_on is Ending.PASSAGE:
            self._steering.track(self.course_mag_deg)
        else:
            self._steering.hold(card.arrive_course_mag_deg)

    # ------------------------------------------------------------------ legs

    def _timing(self) -> TimerFrom:
        return self._leg.timed_from or self._card.timer_from

    @property
    def _leg(self) -> Leg:
        return self._card.legs[self._leg_i]

    def _find_following(self) -> Leg | None:
        i = self._leg_i + 1
        return self._card.legs[i] if i < len(self._card.legs) else None

    def _is_timed(self) -> bool:
        return self._leg_i >= 0 and self._leg.ends_on is Ending.TIME

    @property
    def is_inbound(self) -> bool:
        """Whether he is on the way to the station."""
        ends_on = self._card.begins_on if self._leg_i < 0 else self._leg.ends_on
        return ends_on is Ending.PASSAGE

    def _find_beginning(self) -> Act:
        """How the leg after this one is begun; nothing where it has been begun meanwhile."""
        if self._find_following() is None:
            return self._stop
        leg_i = self._leg_i
        return lambda seen: self._begin_next(seen) if self._leg_i == leg_i else None

    def _find_time_up(self, leg: Leg, begun_s: float) -> float | None:
        """When his clock reads the leg's time; one that runs on is read again, however late he turned."""
        timing = leg.timed_from or self._card.timer_from
        if leg.ends_on is not Ending.TIME or timing is not TimerFrom.TURN:
            return None
        before_s = self._time_up_s if leg.clock is Clock.RUN else None
        return (begun_s if before_s is None else before_s) + (leg.leg_s or 0.0)

    def _begin_next(self, seen: Instruments) -> None:
        """Begin the next leg: its turn, its course, and all eyes on its checkpoint."""
        if self._steering.is_tracking:
            self._tracker.learn_wind(self._needle, seen.heading_mag_deg)
        self._leg_i += 1
        leg = self._leg
        if leg.turn is not Turn.NONE:
            self._wrong_turn.begin(seen.at_s)
        self._time_up_s = self._find_time_up(leg, seen.at_s)
        self.begun.append(LegBegun(n=leg.n, at_s=seen.at_s, what=as_printed(leg)))
        if self._answering is not None:
            self._answering.begin_leg(self._leg_i, seen.at_s)
        self._set_course(leg)
        self._watch, self._noted = Watch(self._needle, seen.heading_mag_deg), _Noted()
        self._reached = Reached(leg, seen, self._needle) if leg.ends_on in SEEN_BY_DIALS else None
        is_timed_abeam = self._is_timed() and self._timing() is TimerFrom.ABEAM
        self._noted.over_station = is_timed_abeam and seen.distance_nm < OVER_STATION_NM
        self._is_level = False
        if leg.tracks:
            self._steering.track(self.course_mag_deg, leg.turn)
        else:
            self._steering.hold(self._find_heading(leg, seen), leg.turn, leg.turn_deg)

    def _find_heading(self, leg: Leg, seen: Instruments) -> float:
        """The published heading; where the leg says so, with the wind as learnt so far corrected."""
        if leg.heading_mag_deg is None:
            return seen.heading_mag_deg
        if leg.corrects_wind:
            self._tracker.begin(leg.heading_mag_deg)
            return self._tracker.holding_mag_deg
        if not leg.drift:
            return leg.heading_mag_deg
        self._tracker.begin(reciprocal_deg(leg.heading_mag_deg))
        return wrap_deg(leg.heading_mag_deg - leg.drift * self._tracker.correction_deg)

    def _set_course(self, leg: Leg) -> None:
        if leg.course_mag_deg is not None and leg.course_mag_deg != self.course_mag_deg:
            self.course_mag_deg = leg.course_mag_deg
            self._needle.restart()

    def _stop(self, seen: Instruments) -> None:
        """After the last passage: the heading he is on, and no more words."""
        self._steering.hold(seen.heading_mag_deg)
        self._is_done = True

    @property
    def vertical_ft_min(self) -> float:
        """How fast he lets the altitude change, down negative."""
        if self._leg_i < 0 or self._is_done or self._leg.climb_ft is None:
            return 0.0
        return math.copysign(self._leg.rate_ft_min or 0.0, self._leg.climb_ft)

    def _keep_arc(self, seen: Instruments) -> None:
        """On an arc: the tangent's heading, corrected by the distance shown and for the wind as learnt."""
        arc_nm = None if self._leg_i < 0 or self._is_done else self._leg.arc_nm
        if arc_nm is None or self._steering.is_on_way_round:
            return
        is_clockwise = difference_deg(seen.heading_mag_deg, seen.radial_mag_deg) > 0.0
        arc = Arc(distance_nm=arc_nm, is_clockwise=is_clockwise)
        self._tracker.begin(round(arc.heading_mag_deg(seen.radial_mag_deg)))
        heading = arc.corrected_heading_mag_deg(seen.radial_mag_deg, seen.distance_nm)
        self._steering.hold(wrap_deg(heading + self._tracker.correction_deg))

    # ------------------------------------------------------------------ reactions

    def _want(self, phrase: str, at_s: float) -> float:
        """Say a phrase after a moment's reaction; return when."""
        due_s = at_s + self._random.uniform(*SEEN_S) + self._habits.late_s
        self._talker.want(phrase, due_s)
        return due_s

    def _in(self, reaction_s: tuple[float, float], at_s: float, act: Act) -> None:
        self._at(at_s + self._random.uniform(*reaction_s) + self._habits.late_s, act)

    def _at(self, at_s: float, act: Act) -> None:
        self._due.append((at_s, act))
        self._due.sort(key=lambda entry: entry[0])

    def _end_leg(self, phrase: str, at_s: float) -> None:
        """Say the word that ends the leg and begin the next one with it."""
        said_s = self._want(phrase, at_s)
        self._at(said_s, self._find_beginning())
