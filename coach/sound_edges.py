"""The speaker and the ear as edges of the flight: which actions are theirs, and when the ear is open.

Never opens a device and never decides what is said or understood.
"""

from __future__ import annotations

import numpy as np

from coach.session.actions import Action, Expect, Listen, Say, Silence, Sound
from coach.session.events import Event, TransmitEnded, TransmitStarted
from coach.session.phrases import PhraseTable
from coach.voice.ear import Block
from coach.voice.ear_worker import EarWorker
from coach.voice.echo import EchoReference
from coach.voice.played import Played
from coach.voice.speaker import Speaker


class SpeakerEdge:
    """The speaker as an edge: it takes what sounds."""

    def __init__(self, speaker: Speaker) -> None:
        self._speaker = speaker

    def do(self, action: Action) -> None:
        """Say, silence or sound it."""
        if isinstance(action, Say | Silence | Sound):
            self._speaker.do(action)


CLOSING_S = 1.0
"""A key that closes the ear lets it hear silence for so long: the word just said comes to its end."""


class EarEdge:
    """The ear as an edge: the grammar goes in, and the microphone's sound while the ear is open.

    The held key closes it while the pilot transmits; with push to talk it is the other way round, and the ear
    is open only while the key is held.
    """

    def __init__(
        self,
        worker: EarWorker,
        table: PhraseTable,
        *,
        push_to_talk: bool = False,
        played: Played | None = None,
    ) -> None:
        """`played`: what the speaker sounds, to be taken out of the microphone's sound; None: no speaker."""
        self._worker = worker
        self._table = table
        self._push_to_talk = push_to_talk
        self._echo = None if played is None else EchoReference(played)
        self._is_open = not push_to_talk
        self._closed_s = float("-inf")

    def do(self, action: Action) -> None:
        """Understand what the session listens for."""
        if isinstance(action, Listen):
            self._worker.listen_for(self._table.ways(action.phrases))
        elif isinstance(action, Expect):
            self._worker.expect(action.answer)

    def follow(self, event: Event) -> None:
        """The held key opens or closes the ear."""
        if isinstance(event, TransmitStarted | TransmitEnded):
            self._is_open = isinstance(event, TransmitStarted) is self._push_to_talk
            self._closed_s = event.onset_s

    def take(self, block: Block, at_s: float) -> None:
        """A block of the microphone."""
        if self._is_open:
            echo = None if self._echo is None else self._echo.beside(len(block), at_s)
            self._worker.send(block, at_s, echo)
        elif at_s < self._closed_s + CLOSING_S:
            self._worker.send(np.zeros_like(block), at_s)
