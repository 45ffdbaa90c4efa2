"""Places prompts and tones by sample: what sounds when, what waits, what is cut off, what is dropped.

Its time is the session's, in samples at 48 kHz. Pure: no device, no clock, no thread; the live speaker and
the rehearsal drive it alike. Never renders speech.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.session.actions import Say, Silence, Sound, Tone
from coach.session.events import PromptDropped, PromptFinished, PromptStarted
from coach.voice.pcm import Samples, fade_out, sample_at, scale, seconds_at
from coach.voice.played import Played
from coach.voice.tones import render_tone

CUE_GAP_S = 0.08
"""Silence between the cue tone and the first word, so that the two are told apart."""

LATE_S = 0.002
"""A word may be this late before a part of its cue tone is left out to be in time."""

PAUSE_S = 0.3
"""Silence between two prompts. A time call does not wait for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """Something that happened to a prompt."""

    prompt: int
    sample: int
    """When, counted from the session's start."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Started(Fact):
    """The first sample of its first word sounds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finished(Fact):
    """It has sounded to its end, or was cut off."""

    is_cut: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Dropped(Fact):
    """Not one of its words was sounded."""

    reason: str


def event_of(fact: Fact, at_s: float) -> PromptStarted | PromptFinished | PromptDropped:
    """Return a fact as the session's event, taken at `at_s`."""
    onset_s = min(seconds_at(fact.sample), at_s)
    if isinstance(fact, Dropped):
        return PromptDropped(at_s=at_s, onset_s=onset_s, prompt=fact.prompt, reason=fact.reason)
    if isinstance(fact, Finished):
        return PromptFinished(at_s=at_s, onset_s=onset_s, prompt=fact.prompt, is_cut=fact.is_cut)
    return PromptStarted(at_s=at_s, onset_s=onset_s, prompt=fact.prompt)


@dataclass(slots=True)
class _Waiting:
    """A prompt that has not begun."""

    say: Say
    words: Samples | None
    """None: still being rendered."""


@dataclass(slots=True)
class _Sounding:
    """The prompt that sounds: cue tone, gap and words in one piece."""

    prompt: int
    piece: Samples
    word_at: int
    """When its first word is to sound."""

    cursor: int = 0

    @property
    def remaining(self) -> int:
        return self.piece.size - self.cursor


@dataclass(slots=True)
class _Effect:
    """A tone, or the fading rest of what was cut off: sounds beside the prompt."""

    piece: Samples
    starts_at: int | None
    """None: at the next block's start."""

    cursor: int = 0


class Mixer:
    """Takes actions, gives blocks of sound and facts."""

    def __init__(self, gain: float = 1.0) -> None:
        self.gain = gain
        """Loudness of what begins from now on, 0-1."""
        self._waiting: list[_Waiting] = []
        self._sounding: _Sounding | None = None
        self._effects: list[_Effect] = []
        self._free_from = 0
        self._now = 0
        self._facts: list[Fact] = []
        self.played = Played()
        """What was rendered last, for the echo canceller."""

    @property
    def is_idle(self) -> bool:
        """True when nothing sounds and nothing waits."""
        return not (self._waiting or self._sounding or self._effects)

    def do(self, action: Say | Silence | Sound, words: Samples | None = None) -> None:
        """Carry an action out from the next block on; `words` None: they follow with `supply`."""
        match action:
            case Say():
                self._waiting.append(_Waiting(action, words))
            case Sound():
                starts_at = None if action.due_s is None else sample_at(action.due_s)
                self._effects.append(_Effect(scale(render_tone(action.tone), self.gain), starts_at))
            case Silence():
                self.silence("silenced")

    def supply(self, prompt: int, words: Samples) -> None:
        """Give a waiting prompt its words; nothing happens if it waits no more."""
        for waiting in self._waiting:
            if waiting.say.prompt == prompt:
                waiting.words = words

    def drop(self, prompt: int, reason: str) -> None:
        """Take back a waiting prompt; nothing happens if it waits no more."""
        self._drop([waiting for waiting in self._waiting if waiting.say.prompt == prompt], self._now, reason)

    def silence(self, reason: str) -> None:
        """Cut off what sounds and take back what waits."""
        begun = [effect for effect in self._effects if effect.cursor]
        self._effects = [_Effect(fade_out(effect.piece[effect.cursor :]), None) for effect in begun]
        self._cut(self._now, reason)
        self._drop(list(self._waiting), self._now, reason)

    def take_facts(self) -> tuple[Fact, ...]:
        """Return what happened since the last call, in the order it happened."""
        facts, self._facts = tuple(self._facts), []
        return facts

    def render(self, n_frames: int, at_sample: int) -> Samples:
        """Return the block that sounds from `at_sample` on.

        Blocks usually follow one another; across a jump of `at_sample` words that have begun go on whole.
        """
        samples = np.zeros(n_frames, dtype=np.int16) if self.is_idle else self._mix(n_frames, at_sample)
        self._now = at_sample + n_frames
        self.played.add(samples, self._now)
        return samples

    def _mix(self, n_frames: int, at_sample: int) -> Samples:
        block: NDArray[np.int32] = np.zeros(n_frames, dtype=np.int32)
        position = 0
        while position < n_frames and not self.is_idle:
            position = self._advance(block, position, at_sample)
        mixed: Samples = np.clip(block, -32_767, 32_767).astype(np.int16)
        return mixed

    def _advance(self, block: NDArray[np.int32], position: int, at_sample: int) -> int:
        """Begin what begins here, mix up to the next change, and return its place in the block."""
        now = at_sample + position
        coming = self._find_next(now)
        while coming is not None and coming[0] <= now:
            self._begin(coming[1], now)
            coming = self._find_next(now)
        stop = block.size if coming is None else min(block.size, coming[0] - at_sample)
        if self._sounding is not None:
            self._sounding.cursor = _catch_up(self._sounding, now)
            stop = min(stop, position + self._sounding.remaining)
        self._mix_prompt(block[position:stop], now)
        self._mix_effects(block[position:stop], now)
        return stop

    def _find_next(self, now: int) -> tuple[int, _Waiting] | None:
        """Return the prompt that begins next and when; prompts that cannot begin in time are dropped."""
        calls = [waiting for waiting in self._waiting if waiting.say.is_time_call]
        taken = [(_due_start(call, now), _length(call)) for call in calls]
        starts = [(self._start(waiting, now, taken), waiting) for waiting in self._waiting]
        stale = [waiting for start, waiting in starts if _is_stale(waiting, start)]
        self._drop(stale, now, "stale")
        ready = [each for each in starts if each[1].words is not None and each[1] not in stale]
        return min(ready, key=lambda each: each[0], default=None)

    def _start(self, waiting: _Waiting, now: int, taken: list[tuple[int, int]]) -> int:
        """Return the sample at which a prompt's cue tone can begin.

        A time call begins whatever sounds. Another prompt waits until it fits in whole, time calls known.
        """
        start = _due_start(waiting, now)
        if waiting.say.is_time_call:
            return start
        pause = sample_at(PAUSE_S)
        start = max(start, self._free_from, now + self._sounding.remaining + pause if self._sounding else 0)
        for call_start, call_length in sorted(taken):
            if start < call_start + call_length and start + _length(waiting) > call_start:
                start = call_start + call_length + pause
        return start

    def _begin(self, waiting: _Waiting, now: int) -> None:
        self._cut(now, "gave way")
        self._waiting.remove(waiting)
        assert waiting.words is not None
        cue, gap = render_tone(Tone.CUE), np.zeros(sample_at(CUE_GAP_S), dtype=np.int16)
        piece = scale(np.concatenate([cue, gap, waiting.words]), self.gain)
        self._sounding = _Sounding(waiting.say.prompt, piece, now + lead())

    def _cut(self, now: int, reason: str) -> None:
        """Let what sounds fade out; a prompt still in its cue tone counts as dropped."""
        cut, self._sounding = self._sounding, None
        if cut is None:
            return
        self._effects.append(_Effect(fade_out(cut.piece[cut.cursor :]), None))
        if cut.cursor > lead():
            self._facts.append(Finished(prompt=cut.prompt, sample=now, is_cut=True))
        else:
            self._facts.append(Dropped(prompt=cut.prompt, sample=now, reason=reason))

    def _drop(self, prompts: list[_Waiting], now: int, reason: str) -> None:
        for waiting in prompts:
            self._waiting.remove(waiting)
            self._facts.append(Dropped(prompt=waiting.say.prompt, sample=now, reason=reason))

    def _mix_prompt(self, part: NDArray[np.int32], now: int) -> None:
        sounding = self._sounding
        if sounding is None:
            return
        begin, sounding.cursor = sounding.cursor, sounding.cursor + part.size
        part += sounding.piece[begin : sounding.cursor]
        if begin <= lead() < sounding.cursor:
            self._facts.append(Started(prompt=sounding.prompt, sample=now + lead() - begin))
        if not sounding.remaining:
            self._sounding = None
            self._free_from = now + part.size + sample_at(PAUSE_S)
            self._facts.append(Finished(prompt=sounding.prompt, sample=now + part.size, is_cut=False))

    def _mix_effects(self, part: NDArray[np.int32], now: int) -> None:
        for effect in self._effects:
            late = 0 if effect.cursor or effect.starts_at is None else max(0, effect.starts_at - now)
            piece = effect.piece[effect.cursor : effect.cursor + max(0, part.size - late)]
            part[late : late + piece.size] += piece
            effect.cursor += piece.size
        self._effects = [effect for effect in self._effects if effect.cursor < effect.piece.size]


def lead() -> int:
    """Return the samples from the start of a prompt's cue tone to its first word."""
    return render_tone(Tone.CUE).size + sample_at(CUE_GAP_S)


def _catch_up(sounding: _Sounding, now: int) -> int:
    """Return where a piece goes on: a gap in the sound before its word is taken from the cue."""
    behind = now + lead() - sounding.cursor - sounding.word_at
    if sounding.cursor >= lead() or behind <= sample_at(LATE_S):
        return sounding.cursor
    return min(lead(), sounding.cursor + behind)


def _due_start(waiting: _Waiting, now: int) -> int:
    """Return when the cue tone begins so that the word sounds at its due time, or now."""
    return now if waiting.say.due_s is None else max(now, sample_at(waiting.say.due_s) - lead())


def _length(waiting: _Waiting) -> int:
    return lead() + (0 if waiting.words is None else waiting.words.size)


def _is_stale(waiting: _Waiting, start: int) -> bool:
    return start + lead() > sample_at(waiting.say.stale_s)
