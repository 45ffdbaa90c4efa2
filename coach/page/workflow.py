"""The workflow table: the five Ts of each leg, what of them the coach has called and what was confirmed.

A row fills up as the leg is flown. Called: the coach's prompt for it sounds. Confirmed: the pilot's word or
key, a feed, or the clock. Never judges: an empty cell says that nothing was called or heard.
"""

from __future__ import annotations

import re
from typing import Any

from coach.drill.model import Clock, Leg, T, TimerFrom, Turn
from coach.drill.plan import Plan
from coach.session import prompts
from coach.session.recall import Question

NOTHING = "—"

CONFIRMED_BY_WORD = {"wings level": T.TIME, "needle centered": T.TWIST, "established": T.TWIST}
"""What a word of the pilot confirms on the leg it is said on; the word that begins a leg is its turn."""

CONFIRMED_BY_QUESTION = {
    Question.TURN: (T.TURN, True),
    Question.STATION_TURN: (T.TURN, True),
    Question.COURSE: (T.TWIST, False),
    Question.SECONDS: (T.TIME, False),
}
"""What a right answer confirms, and whether on the next leg."""

_TURN_FORM = re.compile(r"(Left|Right|Outbound), [a-z ]+$")
"""How a turn is said whose heading a surprise has changed."""

_CLOCK = {Clock.START: "start", Clock.RUN: "runs", Clock.STOP: "stop", Clock.NONE: NOTHING}


class Workflow:
    """The rows of one plan; `rows` are plain values for JSON, one for each leg by its number."""

    def __init__(self, plan: Plan) -> None:
        self._order = plan.drill.five_ts
        self._legs = {leg.leg.n: leg.leg for leg in plan.legs}
        self._texts = {leg.leg.n: _texts_of(leg.leg, plan.drill.timer_from) for leg in plan.legs}
        self._said: dict[int, tuple[int, T]] = {}
        self.rows: dict[int, dict[str, Any]] = {
            leg.leg.n: {"began": None, "cells": [_cell(leg.leg, t) for t in self._order]} for leg in plan.legs
        }

    def begin(self, n: int, by: str, at_s: float) -> None:
        """A leg has begun, by whose word or sign; its turn is confirmed with it."""
        row = self.rows[n]
        row["began"] = {"by": by, "at_s": round(at_s, 1)}
        self.confirm(n, T.TURN, by)

    def alter(self, n: int, heading_mag_deg: int | None, course_mag_deg: int | None) -> None:
        """What a leg is flown with, where a surprise has changed it: told behind what was planned."""
        leg = self._legs[n]
        for t, planned, flown in (
            (T.TURN, leg.heading_mag_deg, heading_mag_deg),
            (T.TWIST, leg.course_mag_deg if leg.sets_course else course_mag_deg, course_mag_deg),
        ):
            if t in self._order:
                changed = "" if flown is None or flown == planned else f" → {flown:03}"
                self._cell_of(n, t)["text"] = render_t(leg, t) + changed

    def call(self, legs: tuple[int, ...], prompt: int, text: str, due_s: float) -> int | None:
        """The coach asks for a prompt, on or just before one of these legs; the leg whose cell it fills."""
        found = [(n, self._texts[n][text]) for n in legs if text in self._texts[n]]
        if not found and _TURN_FORM.match(text):
            found = [(n, T.TURN) for n in legs]
        for n, t in found:
            if t in self._order and self._cell_of(n, t)["called_s"] is None:
                self._cell_of(n, t)["called_s"] = round(due_s, 1)
                self._said[prompt] = (n, t)
                return n
        return None

    def drop(self, prompt: int) -> int | None:
        """A prompt never sounded: its cell is empty again; the leg it was on."""
        leg_n, t = self._said.pop(prompt, (None, T.TURN))
        if leg_n is not None:
            self._cell_of(leg_n, t)["called_s"] = None
        return leg_n

    def drop_unsounded(self, now_s: float) -> set[int]:
        """All that was still to sound is taken back; the legs it was on."""
        later = [
            prompt for prompt, (n, t) in self._said.items() if (self._cell_of(n, t)["called_s"] or 0) > now_s
        ]
        return {n for prompt in later if (n := self.drop(prompt)) is not None}

    def confirm(self, n: int, t: T, by: str) -> None:
        """Somebody confirmed a T of a leg."""
        if t in self._order:
            self._cell_of(n, t)["by"] = by

    def clear_after(self, n: int) -> set[int]:
        """A step was undone, or a spoke begins again: the legs from `n` on are empty; which ones were not."""
        cleared = {leg_n for leg_n, row in self.rows.items() if leg_n >= n and row["began"] is not None}
        for leg_n in cleared:
            self.rows[leg_n]["began"] = None
            for cell in self.rows[leg_n]["cells"]:
                cell["called_s"] = cell["by"] = None
        return cleared

    def _cell_of(self, n: int, t: T) -> dict[str, Any]:
        cell: dict[str, Any] = self.rows[n]["cells"][self._order.index(t)]
        return cell


def find_confirmed(record: str) -> tuple[T, bool | None] | None:
    """The T that a record of the session confirms, and whether of the next leg (None: by its time)."""
    if record.startswith("called: "):
        word = record.removeprefix("called: ").split()[0]
        return (T(word), None) if word in set(T) else None
    asked, _, rest = record.removeprefix("asked ").partition(", ")
    is_right = record.startswith("asked ") and rest.endswith(", right") and asked in set(Question)
    return CONFIRMED_BY_QUESTION.get(Question(asked)) if is_right else None


def _cell(leg: Leg, t: T) -> dict[str, Any]:
    return {"text": render_t(leg, t), "called_s": None, "by": None}


def render_t(leg: Leg, t: T) -> str:
    """What a T asks for on this leg, as short as a cell; a dash: nothing."""
    match t:
        case T.TURN:
            side = "" if leg.turn is Turn.NONE else f"{leg.turn.value[0].upper()} "
            heading = leg.heading_mag_deg or leg.course_mag_deg
            return f"{side}{heading:03}" if heading else side.strip() or NOTHING
        case T.TIME:
            time = "" if leg.leg_s is None else f" {leg.leg_s:g} s"
            return f"{_CLOCK[leg.clock]}{time}"
        case T.TWIST:
            return f"{leg.course_mag_deg:03}" if leg.sets_course and leg.course_mag_deg else NOTHING
        case T.THROTTLE:
            return leg.throttle or NOTHING
        case T.TALK:
            return leg.talk or NOTHING


def _texts_of(leg: Leg, timer_from: TimerFrom) -> dict[str, T]:
    """Which prompt is for which T, word for word as the session says it."""
    texts = {
        text: t
        for t in (T.TIME, T.TWIST, T.THROTTLE, T.TALK)
        for text in prompts.five_ts(leg, order=(t,), timer_from=timer_from)
        if render_t(leg, t) != NOTHING
    }
    turn = prompts.checkpoint(leg)
    # Where part of it is known, less is said: the side or the heading alone, "Course" without its value.
    less = (prompts.way(leg), turn.partition(", ")[2].capitalize())
    turns = (turn, prompts.checkpoint(leg, has_known_turn=False), prompts.inbound(leg), *less)
    twist = {"Course": T.TWIST} if leg.sets_course else {}
    return {**twist, **texts, **{text: T.TURN for text in turns if text}}
