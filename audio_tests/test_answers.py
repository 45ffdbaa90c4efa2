"""Spoken answers on real sound: synthetic pilots in cabin noise, in this process and through the child."""

from __future__ import annotations

import json
import os

import numpy as np
import pytest

from audio_tests.answers import main
from audio_tests.score import LEG
from audio_tests.score_trials import GAP_S, RATE_HZ, SETTLE_S, Cockpit, Listening, make_cabin_noise
from audio_tests.voices import say, voice_names
from coach.errors import SetupError
from coach.session.answers import Direction, heading
from coach.session.events import AnswerHeard, PhraseHeard
from coach.store.phrases import read_phrases
from coach.voice.ear_process import EarProcess
from coach.voice.recogniser import EarChoice

UNDERSTOOD_AT_LEAST = {"whisper": 17, "pocketsphinx": 1}
"""Of 20 and 8 headings; of many more 97 and some 50 % were measured: fewer, and something broke."""


def measure(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, dict[str, float]]:
    status = main([*arguments, "--json"])
    if status == SetupError.exit_status:
        pytest.skip("no such recogniser here")
    assert status == 0
    figures: dict[str, dict[str, float]] = json.loads(capsys.readouterr().out)
    print(figures)
    return figures


@pytest.fixture(autouse=True)
def voices() -> tuple[str, ...]:
    try:
        names = voice_names()
    except SetupError as lack:
        pytest.skip(str(lack))
    if not any(name.startswith("flite:") for name in names):
        pytest.skip("flite is not installed")
    return names


@pytest.mark.skipif(not os.environ.get("COACH_LONG"), reason="longer; COACH_LONG=1 runs it")
@pytest.mark.parametrize(("engine", "step", "clips"), [("whisper", 72, 20), ("pocketsphinx", 180, 8)])
def test_headings_are_understood_and_never_taken_for_the_expected_one(
    engine: str, step: int, clips: int, capsys: pytest.CaptureFixture[str]
) -> None:
    figures = measure(capsys, "--engine", engine, "--step", str(step), "--cabin", "10")["headings"]
    assert figures["clips"] == clips
    assert figures["understood"] >= UNDERSTOOD_AT_LEAST[engine]
    assert figures["wrong_expectations"] > 20 * clips
    assert figures["wrong_accepted"] == 0


def test_real_digit_strings_are_understood(capsys: pytest.CaptureFixture[str]) -> None:
    if "COACH_SHARED" not in os.environ:
        pytest.skip("COACH_SHARED is not set: no real speech here")
    figures = measure(capsys, "--sets", "strings", "--minutes", "0.5", "--cabin", "10")["strings"]
    assert figures["understood"] >= 0.8 * figures["clips"]
    assert figures["wrong_accepted"] == 0


def test_answer_and_phrase_come_out_of_the_ear_that_flies(voices: tuple[str, ...]) -> None:
    ear = EarProcess(EarChoice(engine="whisper"), hear_deadline_s=60.0)
    try:
        ear.start()
    except SetupError as lack:
        pytest.skip(str(lack))
    ear.listen_for(read_phrases().ways(LEG))
    cockpit = Cockpit(noise=make_cabin_noise(), snr_db=15.0)
    listening = Listening(ear, cockpit, seed=1)
    silence = np.zeros(round(max(SETTLE_S, GAP_S) * RATE_HZ), np.float32)
    list(listening.play(silence))
    told = []
    for expected, words in [
        (heading(315, Direction.LEFT), "left three one five"),
        (heading(135, Direction.LEFT), "left three one five"),
        (heading(315, Direction.LEFT), "say again"),
        (None, "left three one five"),
    ]:
        ear.expect(expected)
        sound = np.concatenate([cockpit.scale(say(words, voices[0])), silence])
        facts = [fact for fact, _ in listening.play(sound) if isinstance(fact, AnswerHeard | PhraseHeard)]
        told.append([fact.phrase if isinstance(fact, PhraseHeard) else fact.is_right for fact in facts])
    ear.close()
    assert told == [[True], [False], ["say again"], []]
