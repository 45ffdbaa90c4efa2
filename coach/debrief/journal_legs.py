"""A journal's legs: which were begun, when, and what was said of them. Times of the session clock.

Never handles an event again: a journal of an older coach reads the same. The session notes each leg it begins
(`leg 5: spoke 2 outbound`), each step taken back, each T called out; here they are put together.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from coach.session.actions import Record, Say, Show
from coach.session.events import PhraseHeard, PromptStarted
from coach.session.journal import Journal

_LEG = re.compile(r"leg (\d+): ")
_CALLED = re.compile(r"called: (\w+)")
_SEEN_PASSAGE = "seen: station passage"
_COMPLETE, _ARRIVING, _UNDONE = "complete", "arriving", "undone: "
_BOOKMARK, _NOTE = "bookmark", "note: "

SAME_PASSAGE_S = 20.0
"""A passage that the feed saw this near to the leg's beginning is its checkpoint (`session.feed_hand`)."""

AROUND_S = 15.0
"""What was said so long before and after a bookmark belongs to it; our own choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One leg as the session had it."""

    leg_n: int
    begun_s: float
    """Its checkpoint, as the session or its feed dated it."""

    ended_s: float | None = None
    """When the next leg began, the drill ended or was interrupted; None: the journal ends in it."""

    due_s: float | None = None
    """When the coach had its leg time up; None where it was not timed."""

    is_interrupted: bool = False
    """True where it ended in a rejoin rather than in the next leg."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """Something the pilot said or pressed, or the coach said."""

    at_s: float
    """When its first word began."""

    text: str
    who: Literal["pilot", "coach", "instructor"]


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalLegs:
    """What a journal tells."""

    entries: tuple[Entry, ...]
    words: tuple[Word, ...]
    """In order of time."""

    called: tuple[tuple[float, str], ...]
    """The Ts called out by the pilot: time and T."""

    bookmarks: tuple[tuple[float, str], ...]
    """Bookmarks and notes: time and text."""

    ended_s: float
    """The session clock at the last event."""


def read_legs(journal: Journal) -> JournalLegs:
    """Return what a journal tells of its legs."""
    records = [record for record in _actions(journal) if isinstance(record, Record)]
    passages = [record.onset_s for record in records if record.what.startswith(_SEEN_PASSAGE)]
    entries = _with_due(_entries(journal), journal)
    called = ((record.onset_s, match[1]) for record in records if (match := _CALLED.match(record.what)))
    marks = (record for record in records if record.what.startswith((_BOOKMARK, _NOTE)))
    return JournalLegs(
        entries=tuple(_at_passage(entry, passages) for entry in entries),
        words=tuple(sorted(_words(journal), key=lambda word: word.at_s)),
        called=tuple(called),
        bookmarks=tuple((mark.onset_s, mark.what) for mark in marks),
        ended_s=journal.steps[-1][0].at_s if journal.steps else 0.0,
    )


def _actions(journal: Journal) -> Iterator[object]:
    return (action for _, actions in journal.steps for action in actions)


def _entries(journal: Journal) -> list[Entry]:
    entries: list[Entry] = []
    for action in _actions(journal):
        if not isinstance(action, Record):
            continue
        if action.what.startswith(_UNDONE):
            _take_back(entries, action.what.removeprefix(_UNDONE))
        elif (match := _LEG.match(action.what)) is not None:
            _begin(entries, int(match[1]), action.onset_s)
        elif action.what in (_COMPLETE, _ARRIVING) and entries:
            is_interrupted = action.what == _ARRIVING
            entries[-1] = replace(entries[-1], ended_s=action.onset_s, is_interrupted=is_interrupted)
    return entries


def _begin(entries: list[Entry], leg_n: int, begun_s: float) -> None:
    """A leg begins; told of the present one again (established, wings level) nothing does."""
    while entries and begun_s < entries[-1].begun_s and entries[-1].leg_n != leg_n:
        # The timer's step was taken back for a word said before it.
        entries.pop()
        _reopen(entries)
    last = entries[-1] if entries else None
    if last is not None and last.leg_n == leg_n and last.ended_s is None:
        entries[-1] = replace(last, begun_s=min(last.begun_s, begun_s))
        return
    if last is not None and last.ended_s is None:
        entries[-1] = replace(last, ended_s=begun_s)
    entries.append(Entry(leg_n=leg_n, begun_s=begun_s))


def _reopen(entries: list[Entry]) -> None:
    if entries:
        entries[-1] = replace(entries[-1], ended_s=None, is_interrupted=False)


def _take_back(entries: list[Entry], described: str) -> None:
    """Where the drill stands again: what began since never did."""
    match = _LEG.match(described)
    leg_n = None if match is None else int(match[1])
    while entries and entries[-1].leg_n != leg_n:
        entries.pop()
    _reopen(entries)


def _at_passage(entry: Entry, passages: list[float]) -> Entry:
    near = [at_s for at_s in passages if abs(at_s - entry.begun_s) <= SAME_PASSAGE_S]
    return (
        entry if not near else replace(entry, begun_s=min(near, key=lambda at_s: abs(at_s - entry.begun_s)))
    )


def _with_due(entries: list[Entry], journal: Journal) -> list[Entry]:
    """With the time at which each leg's time was shown to be up, the last word on it."""
    shows = [
        (event.at_s, action)
        for event, actions in journal.steps
        for action in actions
        if isinstance(action, Show) and action.leg_n is not None and action.ends_at_s is not None
    ]
    found = []
    for entry in entries:
        end_s = float("inf") if entry.ended_s is None else entry.ended_s + SAME_PASSAGE_S
        due = [
            show.ends_at_s
            for at_s, show in shows
            if show.leg_n == entry.leg_n and entry.begun_s - 1.0 <= at_s <= end_s
        ]
        found.append(replace(entry, due_s=due[-1] if due else None))
    return found


def _words(journal: Journal) -> Iterator[Word]:
    said: dict[int, str] = {}
    for event, actions in journal.steps:
        if isinstance(event, PhraseHeard):
            who: Literal["pilot", "instructor"] = "instructor" if event.by == "page" else "pilot"
            yield Word(at_s=event.onset_s, text=event.phrase, who=who)
        elif isinstance(event, PromptStarted) and event.prompt in said:
            yield Word(at_s=event.onset_s, text=said[event.prompt], who="coach")
        said |= {action.prompt: action.text for action in actions if isinstance(action, Say)}
