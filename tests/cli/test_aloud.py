"""A briefing read by the coach's voice, sentence by sentence."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.cli import aloud
from coach.drill.plan import plan_drill
from coach.session.aloud import read_briefing
from coach.settings import Settings
from coach.voice.pcm import RATE_HZ
from coach.voice.reading import PAUSE_S
from tests.cli.test_station_morse import Voice
from tests.drill.eight_spoke import eight_spoke

PLAN = plan_drill(eight_spoke(spokes=1))


@pytest.fixture(autouse=True)
def voice(monkeypatch: pytest.MonkeyPatch) -> Voice:
    spoken = Voice()
    spoken.said.clear()
    monkeypatch.setattr(aloud, "synthesiser_of", lambda settings, name: spoken)
    return spoken


def test_every_sentence_is_read_in_its_order(tmp_path: Path, voice: Voice) -> None:
    seconds = aloud.read_plan_aloud(PLAN, Settings(), station="Nowhere Deep", path=tmp_path / "read.wav")
    sentences = read_briefing(PLAN, station="Nowhere Deep")
    assert voice.said == list(sentences)
    spoken_s = sum(len(text) * 100 for text in sentences) / RATE_HZ
    assert seconds == pytest.approx(spoken_s + len(sentences) * PAUSE_S, abs=0.01)


def test_on_the_speaker_the_next_sentence_is_spoken_only_when_asked_for(
    voice: Voice, monkeypatch: pytest.MonkeyPatch
) -> None:
    def read(sounds: object, *, device: str | None, volume: float) -> None:
        next(iter(sounds))  # type: ignore[call-overload]
        raise KeyboardInterrupt

    monkeypatch.setattr(aloud, "read_aloud", read)
    with pytest.raises(KeyboardInterrupt):
        aloud.read_plan_aloud(PLAN, Settings())
    assert len(voice.said) == 1
