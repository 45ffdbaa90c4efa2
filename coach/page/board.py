"""What there is to see on the page: the session's actions and events, folded into the values of a ledger.

A value is plain data for JSON; the page renders it and knows nothing else. Never decides anything and
never waits: it is called by the flight's loop.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from coach.drill.cautions import CAUTIONS
from coach.drill.plan import Plan
from coach.nav.station import Station
from coach.nav.wind import render_wind
from coach.page.ledger import LOG, Ledger
from coach.page.picture import draw_picture, scale_of
from coach.page.workflow import CONFIRMED_BY_WORD, Workflow, find_confirmed
from coach.session.actions import Action, Finish, Listen, Record, Say, Show, Silence
from coach.session.callouts import ALL_S
from coach.session.events import (
    AnswerHeard,
    BookmarkMade,
    EdgeFailed,
    EdgeRecovered,
    Event,
    FeedBack,
    FeedLost,
    FixReceived,
    HeldUp,
    NoteMade,
    NotUnderstood,
    PhraseHeard,
    PromptDropped,
    TransmitEnded,
    TransmitStarted,
)
from coach.session.position import Position, find_position

FIX_EVERY_S = 0.45
"""Fixes that follow closer are not shown: two a second look like motion."""

HELD_UP_TOLD_S = 2.0
"""Standing still for less than this is made good unseen."""

TOLD_RECORDS = {"seen: ": "feed", "called: ": "pilot", "asked ": "asked", "callout": "callout"}
"""How the records begin that the log shows, and whose they are; the others repeat what an event said."""


class Board:
    """One flight, for its page. `station` None: positions cannot be placed, no aircraft is drawn."""

    def __init__(
        self, plan: Plan, *, station: Station | None = None, full_scale_deg: float = 10.0, pace: float = 1.0
    ) -> None:
        self.ledger = Ledger()
        self._plan = plan
        self._station = station
        self._full_scale_deg = full_scale_deg
        self._scale = scale_of(plan)
        self._workflow = Workflow(plan)
        self._show: Show | None = None
        self._row: int | None = None
        self._row_before: int | None = None
        self._lines: list[dict[str, Any]] = []
        self._due: list[tuple[float, int, str]] = []
        self._by, self._onset_s = "clock", 0.0
        self._fix_s = float("-inf")
        self._faults: dict[str, str] = {}
        self._put_plan(pace, has_feed=station is not None)

    def note_event(self, event: Event, now_s: float) -> None:
        """Something has happened; what the session makes of it follows as actions."""
        self._by, self._onset_s = _whose(event), event.onset_s
        self.note_time(now_s)
        match event:
            case PhraseHeard():
                who = "page" if event.by == "page" else "pilot"
                self._log(now_s, who, event.phrase, by=event.by, onset_s=event.onset_s)
                self._confirm_word(event.phrase, event.by, now_s)
            case AnswerHeard():
                words = (event.direction, event.kind, event.digits)
                self._log(now_s, "pilot", " ".join(word for word in words if word), onset_s=event.onset_s)
            case NotUnderstood(reason=reason):
                self._log(now_s, "pilot", f"not understood: {reason}")
            case BookmarkMade(what=what):
                self._log(now_s, "page", f"bookmark: {what}", onset_s=event.onset_s)
            case NoteMade(text=text):
                self._log(now_s, "page", text, onset_s=event.onset_s)
            case TransmitStarted() | TransmitEnded():
                self.ledger.put("transmitting", isinstance(event, TransmitStarted), now_s)
            case EdgeFailed() | EdgeRecovered():
                self._note_fault(event, now_s)
            case HeldUp(onset_s=onset_s) if event.at_s - onset_s >= HELD_UP_TOLD_S:
                self._log(now_s, "fault", f"the coach stood still for {event.at_s - onset_s:.0f} s")
            case FixReceived():
                self._note_fix(event, now_s)
            case FeedLost() | FeedBack():
                self._note_feed(event, now_s)
            case PromptDropped(prompt=prompt):
                self._due = [line for line in self._due if line[1] != prompt]
                self._put_rows({self._workflow.drop(prompt)}, now_s)

    def note_action(self, action: Action, now_s: float) -> None:
        """The session wants something done."""
        self.note_time(now_s)
        match action:
            case Say():
                self._note_prompt(action, now_s)
            case Silence():
                self._due.clear()
                self._lines = [line for line in self._lines if line["from_s"] <= now_s]
                self.ledger.put("lines", list(self._lines), now_s)
                self._put_rows(self._workflow.drop_unsounded(now_s), now_s)
            case Listen(phrases=phrases):
                self.ledger.put("listening", list(phrases), now_s)
            case Show():
                self._note_show(action, now_s)
            case Record():
                self._note_record(action, now_s)
            case Finish():
                self.ledger.put("over", True, now_s)

    def note_time(self, now_s: float) -> None:
        """Time has passed: prompts that have become due are in the log from now on."""
        for from_s, prompt, text in [line for line in self._due if line[0] <= now_s]:
            self._due.remove((from_s, prompt, text))
            self._log(now_s, "coach", text, onset_s=from_s)

    def tell(self, text: str, now_s: float) -> None:
        """A line that is no part of the session."""
        self._log(now_s, "note", text)

    # ---- what the coach says and shows

    def _note_prompt(self, say: Say, now_s: float) -> None:
        from_s = now_s if say.due_s is None else max(say.due_s, now_s)
        self._lines = [*self._lines[-2:], {"text": say.text, "from_s": round(from_s, 2)}]
        self.ledger.put("lines", list(self._lines), now_s)
        self._due.append((from_s, say.prompt, say.text))
        self.note_time(now_s)
        self._put_rows({self._workflow.call(self._near_legs(), say.prompt, say.text, from_s)}, now_s)

    def _near_legs(self) -> tuple[int, ...]:
        """The rows of the present leg and the next; on the way to the station of the one that comes there."""
        rows, show = list(self._workflow.rows), self._show
        if show is None or show.leg_n is None:
            spoke = None if show is None else show.spoke
            return next(((leg.leg.n,) for leg in self._plan.legs if spoke in (None, leg.leg.spoke)), ())
        if self._row is not None:
            return tuple(n for n in rows if n in (self._row, self._row + 1))
        return tuple(n for n in rows if self._row_before is None or n == self._row_before + 1)[:1]

    def _find_row(self, show: Show) -> int | None:
        """The row of the leg shown. A surprise puts legs in before it, or one that has no row."""
        n, name = show.leg_n, (show.spoke, show.leg)
        same = [leg.leg.n for leg in self._plan.legs if (leg.leg.spoke, leg.leg.leg) == name]
        return None if n is None else min(same, key=lambda row: abs(row - n), default=None)

    def _note_show(self, show: Show, now_s: float) -> None:
        before, self._show = self._show, show
        row = self._find_row(show)
        self._row, self._row_before = row, self._row if row is None and self._row else self._row_before
        self.ledger.put("show", asdict(show) | {"row": row}, now_s)
        if show.leg_n is None:
            # On the way back to the station a spoke begins again; after the last leg nothing does.
            near = self._near_legs() if show.spoke is not None else ()
            self._put_rows(self._workflow.clear_after(near[0]) if near else set(), now_s)
            return
        if before is not None and _is_same_leg(before, show):
            return
        if row is None:
            self._log(now_s, "leg", _leg_name(show), onset_s=self._onset_s)
            return
        changed = self._workflow.clear_after(row + 1)
        if self._workflow.rows[row]["began"] is None:
            self._workflow.begin(row, self._by, self._onset_s)
            self._log(now_s, "leg", _leg_name(show), onset_s=self._onset_s)
        self._workflow.alter(row, show.heading_mag_deg, show.course_mag_deg)
        self._put_rows({*changed, row}, now_s)

    # ---- what was heard

    def _confirm_word(self, phrase: str, by: str, now_s: float) -> None:
        t, n = CONFIRMED_BY_WORD.get(phrase), self._row
        if t is not None and n is not None:
            self._workflow.confirm(n, t, by)
            self._put_rows({n}, now_s)

    def _note_record(self, record: Record, now_s: float) -> None:
        """A T that was called out, or asked for and answered right, is confirmed; both are in the log."""
        who = next((who for begins, who in TOLD_RECORDS.items() if record.what.startswith(begins)), None)
        if who is None:
            return
        self._log(now_s, who, record.what, onset_s=record.onset_s)
        confirmed = find_confirmed(record.what)
        n = self._row
        if confirmed is None or n is None:
            return
        t, is_next = confirmed
        if is_next is None:
            began = self._workflow.rows[n]["began"]
            # A callout may begin a little before its checkpoint; long after the last one it is for the next.
            is_next = began is not None and record.onset_s - began["at_s"] > 2 * ALL_S
        for leg_n in self._near_legs()[is_next : is_next + 1]:
            self._workflow.confirm(leg_n, t, "voice")
            self._put_rows({leg_n}, now_s)

    # ---- the world

    def _note_fault(self, event: EdgeFailed | EdgeRecovered, now_s: float) -> None:
        if isinstance(event, EdgeFailed):
            self._faults[event.edge] = event.reason
            self._log(now_s, "fault", f"{event.edge}: {event.reason}")
        else:
            self._faults.pop(event.edge, None)
            self._log(now_s, "fault", f"{event.edge} is back")
        self.ledger.put("faults", dict(self._faults), now_s)

    def _note_fix(self, event: FixReceived, now_s: float) -> None:
        if self._station is None or event.onset_s - self._fix_s < FIX_EVERY_S:
            return
        self._fix_s = event.onset_s
        course = None if self._show is None else self._show.course_mag_deg
        position = find_position(
            event.fix, self._station, course_mag_deg=course, full_scale_deg=self._full_scale_deg
        )
        x, y = self._scale.point(position.east_nm, position.north_nm)
        track, speed_kt = position.track_mag_deg, position.ground_speed_kt
        shown = {
            "at": [round(x, 1), round(y, 1)],
            "track_mag_deg": None if track is None else round(track, 1),
            "ground_speed_kt": None if speed_kt is None else round(speed_kt),
            "radial_mag_deg": position.radial_mag_deg,
            "distance_nm": round(position.distance_nm, 2),
            "at_s": round(event.onset_s, 2),
        }
        self.ledger.put("aircraft", shown, now_s)
        self.ledger.put("needle", _needle(position, course), now_s)

    def _note_feed(self, event: FeedLost | FeedBack, now_s: float) -> None:
        lost = event.reason if isinstance(event, FeedLost) else None
        self.ledger.put("feed_lost", lost, now_s)
        self._log(now_s, "feed", "back" if lost is None else f"lost: {lost}")

    # ---- values

    def _put_plan(self, pace: float, *, has_feed: bool) -> None:
        plan = self._plan
        shown = {
            "title": plan.drill.title,
            "pace": pace,
            "has_feed": has_feed,
            "wind": render_wind(plan.wind),
            "tas_kt": plan.tas_kt,
            "ts": [t.value for t in plan.drill.five_ts],
            "legs": [
                {"n": leg.leg.n, "spoke": leg.leg.spoke, "leg": leg.leg.leg.replace("_", " ")}
                for leg in plan.legs
            ],
            "picture": draw_picture(plan),
            "caution": CAUTIONS[0].text,
        }
        self.ledger.put("plan", shown, 0.0)
        self._put_rows(set(self._workflow.rows), 0.0)

    def _put_rows(self, legs: set[int | None] | set[int], now_s: float) -> None:
        for n in sorted(n for n in legs if n is not None):
            row = self._workflow.rows[n]
            shown = {"began": row["began"], "cells": [dict(cell) for cell in row["cells"]]}
            self.ledger.put(f"row:{n}", shown, now_s)

    def _log(
        self, now_s: float, who: str, text: str, *, by: str | None = None, onset_s: float | None = None
    ) -> None:
        at_s = now_s if onset_s is None else onset_s
        tail = f" ({by})" if by not in (None, "page") else ""
        self.ledger.put(LOG, {"at_s": round(at_s, 1), "who": who, "text": f"{text}{tail}"}, now_s)


def _whose(event: Event) -> str:
    """Who or what moves the drill, if this event does."""
    if isinstance(event, PhraseHeard):
        return event.by
    return "feed" if isinstance(event, FixReceived) else "clock"


def _needle(position: Position, course_mag_deg: int | None) -> dict[str, Any] | None:
    if position.needle_share is None or position.flag is None:
        return None
    share = round(position.needle_share, 3)
    return {"share": share, "flag": position.flag.value, "course_mag_deg": course_mag_deg}


def _is_same_leg(one: Show, other: Show) -> bool:
    return (one.leg_n, one.spoke, one.leg) == (other.leg_n, other.spoke, other.leg)


def _leg_name(show: Show) -> str:
    spoke = "" if show.spoke is None else f"spoke {show.spoke} "
    heading = "" if show.heading_mag_deg is None else f" {show.heading_mag_deg:03}"
    return f"{spoke}{(show.leg or '').replace('_', ' ')}{heading}"
