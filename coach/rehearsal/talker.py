"""How a pilot talks to the coach: a word after a moment's reaction, again if unanswered, then the key.

Where even the key is not answered the coach must have taken something for a word of silence: "resume drill"
by key, then the word's key once more. Never knows what was understood: only whether the coach answered.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from coach.session.answers import Answer

AGAIN_S = 5.0
"""Unanswered for so long, a word is said again."""

VOICE, KEY, RESUME = "voice", "key", "resume"
ATTEMPTS = (VOICE, VOICE, KEY, RESUME, KEY)
"""What is tried, one after the other, until the coach answers."""

RESUME_PHRASE = "resume drill"

ANSWERED_WITHIN_S = 8.0
"""The coach's answer to a word comes within this."""

KEY_REACTION_S = 1.0
"""From "Use key" to the key."""

EARLY_AGAIN_S = 1.2
"""From "Early" to saying it again: he has seen what he has seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """Something the pilot says or presses."""

    at_s: float
    """When it begins, on the session clock."""

    phrase: str
    """The canonical phrase; of an answer its short form, such as `left 195`."""

    by_key: bool
    answer: Answer | None = None
    """What is answered; None: a phrase of the table."""

    spoken: str | None = None
    """How it is said; None: as the table has it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wish:
    phrase: str
    due_s: float
    said_s: float | None = None
    tries: int = 0
    by_key: bool = False


class Talker:
    """Keeps one word going until it is answered; a newer word takes the place of an older one."""

    def __init__(self, *, only_keys: bool, is_mute: bool = False) -> None:
        """`is_mute`: he says and presses nothing at all, since the coach sees for itself."""
        self._is_mute = is_mute
        self._only_keys = only_keys
        self._wish: _Wish | None = None
        self._last: _Wish | None = None

    @property
    def is_waiting(self) -> bool:
        """Whether a word is to be said or still unanswered."""
        return self._wish is not None

    def want(self, phrase: str, due_s: float) -> None:
        """Say a word when its time comes."""
        if self._is_mute:
            return
        self._wish = _Wish(phrase=phrase, due_s=due_s, by_key=self._only_keys)

    def find_word(self, at_s: float) -> Word | None:
        """Return the word that is begun by now; None while there is nothing to say."""
        wish = self._wish
        if wish is None or at_s < wish.due_s:
            return None
        if wish.tries == len(ATTEMPTS):
            self._wish = None
            return None
        attempt = ATTEMPTS[wish.tries]
        self._wish = self._last = replace(wish, said_s=at_s, due_s=at_s + AGAIN_S, tries=wish.tries + 1)
        phrase = RESUME_PHRASE if attempt == RESUME else wish.phrase
        return Word(at_s=at_s, phrase=phrase, by_key=wish.by_key or attempt != VOICE)

    def has_said(self, phrase: str, at_s: float) -> bool:
        """Whether that was his last word, so lately that an answer may still come."""
        last = self._last
        if last is None or last.said_s is None or last.phrase != phrase:
            return False
        return at_s - last.said_s <= ANSWERED_WITHIN_S

    def hear_answer(self) -> None:
        """The coach has taken the word."""
        if self._wish is not None and self._wish.said_s is not None:
            self._wish = None

    def hear_use_key(self, at_s: float) -> None:
        """The coach asks for the key."""
        if self._wish is not None and self._wish.said_s is not None:
            self._wish = replace(self._wish, due_s=at_s + KEY_REACTION_S, by_key=True)

    def hear_early(self, at_s: float) -> None:
        """The coach doubts the word: it is said again."""
        last = self._last
        if last is not None and last.said_s is not None and at_s - last.said_s < AGAIN_S:
            self._last = None
            self._wish = _Wish(phrase=last.phrase, due_s=at_s + EARLY_AGAIN_S, by_key=last.by_key)
