"""What is sounded on the ground: a briefing read by the coach's voice, on the speaker or into a WAV file.

Never used in a flight. Ctrl-C stops it.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from coach.cli.native_output import native_output_aside
from coach.drill.plan import Plan
from coach.errors import Problem, SettingsError
from coach.flight import synthesiser_of
from coach.session.aloud import read_briefing
from coach.settings import Settings
from coach.voice.pcm import Samples
from coach.voice.reading import read_aloud, write_aloud


def audio_path(text: str | None) -> Path | None:
    """The WAV file asked for; None: the speaker. `SettingsError` where it is none."""
    if text is None:
        return None
    path = Path(text)
    if path.suffix.lower() != ".wav" or "\0" in text:
        raise SettingsError(Problem(where="--audio", expected="a file name ending in .wav", got=f"'{text}'"))
    if not path.parent.is_dir():
        raise SettingsError(
            Problem(where="--audio", expected="a folder that is there", got=f"'{path.parent}'")
        )
    return path


def sound(sounds: Iterator[Samples], settings: Settings, path: Path | None) -> float | None:
    """Sound them, or write them; the seconds written. Raises `CoachError`."""
    if path is not None:
        return write_aloud(sounds, path, volume=settings.volume)
    with native_output_aside():
        read_aloud(sounds, device=settings.output_device, volume=settings.volume)
    return None


def read_plan_aloud(
    plan: Plan, settings: Settings, *, station: str | None = None, path: Path | None = None
) -> float | None:
    """Read a plan's briefing; the seconds written to `path`, None on the speaker."""
    synthesiser = synthesiser_of(settings, settings.coach_voice)
    texts = read_briefing(plan, style=settings.digits, station=station)
    return sound((synthesiser.render(text) for text in texts), settings, path)
