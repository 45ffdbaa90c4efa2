"""What the audio tests share: the virtual sound card, started once."""

from __future__ import annotations

import sys
from collections.abc import Iterator

import pytest

from audio_tests.soundcard import SoundCard, find_lack, sound_card


@pytest.fixture(scope="session")
def card() -> Iterator[SoundCard]:
    """A virtual sound card for this process and its children; skips where the machine cannot have one."""
    lack = find_lack()
    if lack is not None:
        pytest.skip(f"no virtual sound card: {lack}")
    with sound_card() as card:
        _let_portaudio_see_it()
        yield card


def _let_portaudio_see_it() -> None:
    """PortAudio lists the devices once, when sounddevice is imported; have it list them again."""
    sounddevice = sys.modules.get("sounddevice")
    if sounddevice is not None:
        sounddevice._terminate()
        sounddevice._initialize()
