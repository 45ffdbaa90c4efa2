"""What happened in a rehearsal, as it happens: words, prompts, what was understood.

Never judges: the summary does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from coach.session.actions import Record, Say
from coach.session.answers import Answer
from coach.session.events import AnswerHeard, Event, NotUnderstood, PhraseHeard, PromptStarted

MATCH_S = 1.5
"""What was heard belongs to the pilot's word whose onset lies this near; a word lasts about a second."""


TAUGHT = ("asked ", "callout")
"""How the lines begin that judge an answer or a callout."""

BY_FEED = ("seen: ", "planned anew", "needle centered")
"""How the journal's lines begin that come of a feed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A word of the pilot."""

    onset_s: float
    ends_s: float
    phrase: str
    by_key: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What became of a word, or what was heard where none was said."""

    at_s: float
    """When it was settled; the word's end where nothing came of it."""

    onset_s: float
    """When the word began as the ear dates it; where nothing was heard, as it was said."""

    said: str | None
    understood: str | None
    onset_error_s: float | None
    """How much later than it was said the onset was dated; None without a word or without hearing it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Called:
    """A prompt that sounded."""

    at_s: float
    """When its first word sounded."""

    due_s: float | None
    """When it should; None: as soon as it could."""

    what: str
    is_time_call: bool


def _ignore(_line: str) -> None:
    return


@dataclass(slots=True, kw_only=True)
class Transcript:
    """Collects, and tells each thing as one line."""

    tell: Callable[[str], None] = _ignore
    said: list[Said] = field(default_factory=list)
    heard: list[Heard] = field(default_factory=list)
    calls: list[Called] = field(default_factory=list)
    records: list[tuple[float, Record]] = field(default_factory=list)
    """What the session had kept in the journal, and when."""

    _says: dict[int, Say] = field(default_factory=dict)
    _open: list[Said] = field(default_factory=list)

    def note_action(self, say: Say) -> None:
        """A prompt is to be said."""
        self._says[say.prompt] = say

    def note_turn(self, at_s: float, what: str) -> None:
        """The pilot turns the aircraft."""
        self.tell(f"{clock(at_s)}  flight  {what}")

    def note_word(self, said: Said) -> None:
        """The pilot speaks or presses a key."""
        self.said.append(said)
        if said.by_key:
            self.tell(f"{clock(said.onset_s)}  pilot   [{said.phrase}] (key)")
        else:
            self._open.append(said)

    def note_call_of_pilot(self, at_s: float, text: str) -> None:
        """The pilot says something that is not for the coach."""
        self.tell(f"{clock(at_s)}  pilot   ({text})")

    def note_record(self, at_s: float, record: Record) -> None:
        """The session keeps a line in its journal; what the feed showed is told."""
        self.records.append((at_s, record))
        if record.what.startswith(TAUGHT):
            self.tell(f"{clock(record.onset_s)}  judged  {record.what}")
        if record.what.startswith(BY_FEED):
            self.tell(f"{clock(record.onset_s)}  feed    {record.what}")

    def note_event(self, event: Event) -> None:
        """A fact reaches the session."""
        match event:
            case PromptStarted(prompt=prompt, onset_s=onset_s):
                self._note_call(self._says[prompt], onset_s)
            case PhraseHeard(phrase=phrase, by="voice"):
                self._note_heard(event, phrase)
            case AnswerHeard() if event.score is not None:
                answer = Answer(kind=event.kind, digits=event.digits, direction=event.direction)
                self._note_heard(event, str(answer))
            case NotUnderstood():
                self._note_heard(event, None)

    def close(self) -> None:
        """The flight is over: what was said and never heard was missed."""
        self.heard += [_missed(said) for said in self._open]
        self._open.clear()
        self.heard.sort(key=lambda heard: heard.onset_s)

    def _note_call(self, say: Say, onset_s: float) -> None:
        call = Called(at_s=onset_s, due_s=say.due_s, what=say.text, is_time_call=say.is_time_call)
        self.calls.append(call)
        self.tell(f"{clock(onset_s)}  coach   {say.text}")

    def _note_heard(self, event: PhraseHeard | AnswerHeard | NotUnderstood, understood: str | None) -> None:
        said = self._take_word(event.onset_s)
        heard = Heard(
            at_s=event.at_s,
            onset_s=event.onset_s,
            said=said.phrase if said else None,
            understood=understood,
            onset_error_s=event.onset_s - said.onset_s if said else None,
        )
        self.heard.append(heard)
        self.tell(f"{clock(event.onset_s)}  pilot   {_told(heard)}")

    def _take_word(self, onset_s: float) -> Said | None:
        near = [said for said in self._open if said.onset_s - MATCH_S <= onset_s <= said.ends_s + MATCH_S]
        found = min(near, key=lambda said: abs(said.onset_s - onset_s), default=None)
        if found is not None:
            self._open.remove(found)
        return found


def clock(at_s: float) -> str:
    """Return session time as minutes and seconds with a tenth: ` 3:07.4`."""
    tenths = round(at_s * 10)
    return f"{tenths // 600:3d}:{tenths % 600 // 10:02d}.{tenths % 10}"


def _missed(said: Said) -> Heard:
    return Heard(
        at_s=said.ends_s, onset_s=said.onset_s, said=said.phrase, understood=None, onset_error_s=None
    )


def _told(heard: Heard) -> str:
    if heard.said is None:
        return f"(nothing said; understood: {heard.understood or 'nothing'})"
    if heard.understood is None:
        return f'"{heard.said}" (not understood)'
    if heard.understood != heard.said:
        return f'"{heard.said}" (understood: {heard.understood})'
    return f'"{heard.said}" (understood {heard.at_s - heard.onset_s:.1f} s later)'
