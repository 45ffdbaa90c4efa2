"""The terminal in the cockpit: the flight at a glance, and the keys.

Draws from a thread of its own, so that a terminal that is slow or stopped never holds the flight up:
when something changes, and once a second. Where standard output is no terminal it prints plain lines
instead. Never decides anything.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress
from typing import Protocol

from rich.console import Console, ScreenContext
from rich.text import Text

from coach.errors import SetupError
from coach.screen.glance import Eyes, Glance, after_action, after_event, after_fix, after_telling
from coach.screen.keypad import TRANSMIT_KEY, KeyPad
from coach.screen.keys import KeyReader
from coach.screen.layout import Paper, keys_now, lay_out, next_change_s
from coach.screen.plain import CoachLines, find_action_news, find_event_news, stamped, told_line
from coach.session.actions import Action, Say, Show
from coach.session.events import EdgeFailed, Event, FixReceived
from coach.session.phrases import PhraseTable

LONGEST_WAIT_S = 1.0
"""How late a change of the window's size is seen, and what another program wrote is gone."""

HOLD, LET_GO = "\x1b[?2026h", "\x1b[?2026l"
"""Around a picture: a terminal that knows synchronized output shows it whole, any other ignores it."""

CLOSE_WITHIN_S = 1.0
"""A terminal that is stopped does not keep the coach from ending."""


class Face(Protocol):
    """A way to show a glance."""

    def open(self) -> None:
        """Begin."""

    def draw(self, glance: Glance, news: tuple[str, ...], now_s: float) -> None:
        """Show it; `OSError` where the terminal is gone."""

    def find_next_s(self, glance: Glance, now_s: float) -> float | None:
        """When the same glance looks different."""

    def close(self, glance: Glance) -> None:
        """Leave the terminal as it was."""


class Terminal:
    """Shows the flight on standard output and takes the keys from standard input.

    `console` and `keys` are for tests; `keys` None: this system's keyboard, by the phrase table.
    """

    def __init__(
        self,
        table: PhraseTable,
        *,
        console: Console | None = None,
        keys: KeyReader | None = None,
        transmit_key: str = TRANSMIT_KEY,
        eyes: Eyes | None = None,
    ) -> None:
        """`eyes`: what a feed's positions are seen with; None: there is no feed, no needle is shown."""
        console = console or Console(highlight=False)
        is_screen = console.is_terminal and not console.is_dumb_terminal and not console.legacy_windows
        always = ((transmit_key, "transmit"),)
        self._face: Face = FullScreen(console, table, always, eyes) if is_screen else Lines(console)
        self._eyes = eyes
        self._keys = keys or KeyReader(KeyPad(table, transmit_key))
        self._changed = threading.Condition()
        self._glance = Glance()
        self._news: list[str] = []
        self._is_new = True
        self._is_closing = False
        self._clock: Callable[[], float] = lambda: 0.0
        self._post: Callable[[Event], None] = lambda _event: None
        self._thread: threading.Thread | None = None

    def open(self, *, post: Callable[[Event], None], clock: Callable[[], float]) -> None:
        """Begin to show, and to post keys. `clock` is the session's; `post` must not wait."""
        self._post, self._clock = post, clock
        self._face.open()
        self._thread = threading.Thread(target=self._work, name="screen", daemon=True)
        self._thread.start()
        try:
            self._keys.open(post=post, clock=clock)
        except SetupError as error:
            self.tell(f"No keys. {error}")

    def close(self) -> None:
        """Leave the terminal as it was; harmless if it was never opened."""
        self._keys.close()
        if self._thread is None:
            return
        with self._changed:
            self._is_closing = True
            self._changed.notify()
        self._thread.join(CLOSE_WITHIN_S)
        # A terminal that is gone needs nothing put back, and one that is stopped takes nothing.
        if not self._thread.is_alive():
            with suppress(OSError):
                self._face.close(self._glance)
        self._thread = None

    def do(self, action: Action) -> None:
        """Show what the session wants shown; never waits."""
        self._change(
            lambda glance, now_s: after_action(glance, action, now_s), find_action_news(self._glance, action)
        )

    def show(self, show: Show) -> None:
        """Show the present state."""
        self.do(show)

    def prompt(self, text: str, *, due_s: float | None = None) -> None:
        """Show a line of the coach when its first word is due; None: now."""
        now_s = self._clock()
        self.do(Say(prompt=0, text=text, due_s=due_s, stale_s=now_s, is_time_call=False))

    def heard(self, event: Event) -> None:
        """Show what was heard, lost or found again, where the aircraft is; other events change nothing."""
        eyes = self._eyes
        if isinstance(event, FixReceived) and eyes is not None:
            fix = event.fix
            self._change(lambda glance, _now_s: after_fix(glance, fix, eyes), None)
            return
        self._change(lambda glance, _now_s: after_event(glance, event), find_event_news(event))

    def tell(self, text: str) -> None:
        """Show one line that is no part of the session: a lack, a remedy."""
        self._change(lambda glance, _now_s: after_telling(glance, text), told_line(text))

    def _change(self, after: Callable[[Glance, float], Glance], news: str | None) -> None:
        now_s = self._clock()
        with self._changed:
            before, self._glance = self._glance, after(self._glance, now_s)
            if news is not None:
                self._news.append(stamped(news, now_s))
            if news is not None or self._glance != before:
                self._is_new = True
                self._changed.notify()

    def _work(self) -> None:
        try:
            while self._draw_next():
                pass
        except (OSError, SystemExit) as exc:
            # rich answers a broken pipe with SystemExit, having silenced standard output.
            at_s = self._clock()
            reason = f"screen: {getattr(exc, 'strerror', None) or 'the terminal is gone'}"
            self._post(EdgeFailed(at_s=at_s, onset_s=at_s, edge="screen", reason=reason))

    def _draw_next(self) -> bool:
        """Wait for something new and draw it; False where that was the last."""
        with self._changed:
            self._changed.wait_for(lambda: self._is_new or self._is_closing, self._timeout_s())
            self._is_new = False
            glance, news, is_last = self._glance, tuple(self._news), self._is_closing
            self._news.clear()
        self._face.draw(glance, news, self._clock())
        return not is_last

    def _timeout_s(self) -> float:
        now_s = self._clock()
        next_s = self._face.find_next_s(self._glance, now_s)
        return LONGEST_WAIT_S if next_s is None else min(LONGEST_WAIT_S, max(0.0, next_s - now_s))


class FullScreen:
    """The whole terminal, drawn over and over in place; what was there before comes back at the end."""

    def __init__(
        self,
        console: Console,
        table: PhraseTable,
        always: tuple[tuple[str, str], ...],
        eyes: Eyes | None = None,
    ) -> None:
        self._console = console
        self._table = table
        self._always = always
        self._dots = None if eyes is None else eyes.dots
        self._screen: ScreenContext | None = None

    def open(self) -> None:
        """Take the terminal over."""
        self._screen = self._console.screen(hide_cursor=True)
        self._screen.__enter__()

    def draw(self, glance: Glance, news: tuple[str, ...], now_s: float) -> None:  # noqa: ARG002
        """Draw all of it: another program's words or a new size of the window do not last."""
        assert self._screen is not None
        width, height = self._console.size
        is_ascii = not self._console.encoding.startswith("utf")
        paper = Paper(width=width, height=height, is_ascii=is_ascii, dots=self._dots)
        lines = lay_out(glance, keys_now(glance, self._table, self._always), now_s, paper)
        self._console.file.write(HOLD)
        self._screen.update(Text("\n", no_wrap=True, overflow="crop").join(lines))
        self._console.file.write(LET_GO)
        self._console.file.flush()

    def find_next_s(self, glance: Glance, now_s: float) -> float | None:
        """The timer's next second, the next line, the end of a flash."""
        return next_change_s(glance, now_s)

    def close(self, glance: Glance) -> None:
        """Give the terminal back, and leave on it what was told."""
        if self._screen is not None:
            self._screen.__exit__(None, None, None)
            for text in glance.told:
                self._console.print(Text(text))


class Lines:
    """Plain lines on whatever standard output is."""

    def __init__(self, console: Console) -> None:
        self._console = console
        self._coach = CoachLines()

    def open(self) -> None:
        """Nothing to take over."""

    def draw(self, glance: Glance, news: tuple[str, ...], now_s: float) -> None:
        """Print what is new."""
        due = self._coach.find_due(glance, now_s)
        for line in (*news, *((due,) if due else ())):
            self._console.print(Text(line), soft_wrap=True)

    def find_next_s(self, glance: Glance, now_s: float) -> float | None:
        """The next line of the coach."""
        return self._coach.find_next_s(glance, now_s)

    def close(self, glance: Glance) -> None:
        """Nothing to give back."""
