"""Whether an output stream still sounds where it should: its callback's age, its end, its device.

A device goes in three ways: the stream is moved to another one without any sign, it ends, or its callback is
simply never called again. Pure: never asks a clock or a device.
"""

from __future__ import annotations

SILENT_S = 1.5
"""A callback not called for this long is a lost device: told within 2 s, and not yet at the pauses that a
loaded machine's sound server makes after an underrun (seen)."""

OPENS_WITHIN_S = 5.0
"""A stream that has not settled by then counts as not opened; an idle sink takes 1.1 to 1.9 s (measured)."""

OVERSLEPT_S = 0.3
"""Whoever looks this much later than planned was stopped itself, and learns nothing from an old callback."""


class Home:
    """Which device a stream belongs on, and whether it is away from it because that is gone."""

    def __init__(self, name: str | None = None) -> None:
        self.name = name
        """The device the stream belongs on; None: unknown."""

        self.is_away = False
        """True while the stream is on another device because its own is gone."""

    def note(self, current: str, present: tuple[str, ...]) -> None:
        """Note the device the stream is on, and all that are there.

        The first one seen is its home. A stream that moves while its home is still there was moved by the
        user: it has a new home. One that moves because its home is gone is away until it is back on it.
        """
        if self.name is None or (self.name in present and not self.is_away):
            self.name = current
        self.is_away = current != self.name


class StreamHealth:
    """The signs of life of one stream, from its opening on."""

    def __init__(self, *, opened_at_s: float, home: str | None = None) -> None:
        """Begin with what is known: `home`, the device that an earlier stream belonged on."""
        self._opened_at_s = opened_at_s
        self._called_at_s: float | None = None
        self._is_finished = False
        self._home = Home(home)

    def note_call(self, at_s: float) -> None:
        """Note that a settled stream asked for a block."""
        self._called_at_s = at_s

    def note_finished(self) -> None:
        """Note that the stream ended by itself."""
        self._is_finished = True

    def note_device(self, current: str, present: tuple[str, ...]) -> None:
        """Note the device the stream is on, and all that are there."""
        self._home.note(current, present)

    @property
    def home(self) -> str | None:
        """The device the stream belongs on; None: unknown."""
        return self._home.name

    @property
    def is_running(self) -> bool:
        """True once the stream has settled."""
        return self._called_at_s is not None

    @property
    def is_away(self) -> bool:
        """True while the stream sounds on another device because its own is gone."""
        return self._home.is_away

    def find_loss(self, at_s: float, overslept_s: float) -> str | None:
        """Return why the stream is lost, in one line for the pilot, or None."""
        if self._is_finished:
            return "the sound device is gone"
        if overslept_s > OVERSLEPT_S:
            return None
        if self._called_at_s is None:
            return "the sound device does not start" if at_s - self._opened_at_s > OPENS_WITHIN_S else None
        return "the sound device does not answer" if at_s - self._called_at_s > SILENT_S else None
