"""The pilot's words reach the ear as sound in noise: whole, in time, at the SNR asked for."""

from __future__ import annotations

import numpy as np
import pytest

from coach.rehearsal.cabin import Cabin, snr_db
from coach.rehearsal.headset import Headset
from coach.rehearsal.microphone import IDLE_BLOCK, Loudspeaker, Microphone, loudness_at
from coach.rehearsal.room import DELAY_S, Room
from coach.session.actions import Say
from coach.session.events import PhraseHeard, SpeechStarted
from coach.store.phrases import read_phrases
from coach.voice.echo import LEAD_S, EchoReference
from tests.rehearsal.tone_ear import RATE_HZ, TONES_HZ, WORD_S, ToneEar, tone_voice

TABLE = read_phrases()
PHRASES = tuple(TONES_HZ)
NOISE = np.convolve(np.random.default_rng(1).standard_normal(12_000), np.ones(8), "same")


@pytest.fixture(scope="module")
def cabin():
    return Cabin(seed=2)


def microphone(cabin, *, wanted_db=20.0, ear=None):
    made = Microphone(ear or ToneEar(), TABLE, tone_voice, cabin, wanted_db)
    made.listen_for(PHRASES)
    return made


def listen(made, from_s, to_s, step=1600):
    """Advance in steps; return the sound and the facts."""
    blocks, facts, cursor = [], [], round(from_s * RATE_HZ)
    while cursor < round(to_s * RATE_HZ):
        cursor = min(cursor + step, round(to_s * RATE_HZ))
        block, heard = made.advance(cursor)
        blocks.append(block)
        facts += heard
    return np.concatenate(blocks), facts


@pytest.mark.parametrize("wanted_db", [20.0, 5.0, 0.0, -5.0, -12.0])
def test_word_stands_above_the_noise_as_asked(cabin, wanted_db):
    alone, _ = listen(microphone(cabin, wanted_db=wanted_db), 0.0, 1.0)
    spoken = microphone(cabin, wanted_db=wanted_db)
    spoken.say("established")
    mixed, _ = listen(spoken, 0.0, 1.0)
    voice = (mixed.astype(np.float32) - alone)[: round(WORD_S * RATE_HZ)] / 32767
    loop = cabin.loop * np.float32(loudness_at(wanted_db).noise_rms)
    assert snr_db(voice, loop) == pytest.approx(wanted_db, abs=0.3)
    assert np.abs(mixed.astype(int)).max() < 32767


def test_word_is_heard_with_its_onset(cabin):
    made = microphone(cabin)
    listen(made, 0.0, 3.0)
    made.say("needle alive")
    _, facts = listen(made, 3.0, 6.0)
    (phrase,) = [fact for fact in facts if isinstance(fact, PhraseHeard)]
    assert phrase.phrase == "needle alive"
    assert phrase.onset_s == pytest.approx(3.0, abs=0.06)


@pytest.mark.parametrize("step", [160, 1600, 4001, 40_000])
def test_sound_is_the_same_however_it_is_cut(cabin, step):
    whole, cut = microphone(cabin), microphone(cabin)
    whole.say("established")
    cut.say("established")
    expected, _ = listen(whole, 0.0, 5.0, step=80_000)
    got, _ = listen(cut, 0.0, 5.0, step=step)
    assert np.array_equal(got, expected)


def test_ear_gets_every_sample_once_in_order(cabin):
    ear = ToneEar()
    made = microphone(cabin, ear=ear)
    made.say("established")
    listen(made, 0.0, 130.0, step=1601)  # longer than the noise's loop; the ear itself refuses holes
    assert 130.0 * RATE_HZ - IDLE_BLOCK < ear.heard_samples <= 130.0 * RATE_HZ


def test_idle_ear_is_served_in_larger_blocks(cabin):
    sizes = []

    class Counting(ToneEar):
        def hear(self, block, at_s):
            sizes.append(len(block))
            return super().hear(block, at_s)

    made = microphone(cabin, ear=Counting())
    listen(made, 0.0, 5.0)
    assert set(sizes) == {IDLE_BLOCK}
    sizes.clear()
    made.say("established")
    listen(made, 5.0, 5.8)
    assert max(sizes) == 1600


def test_ear_that_notices_a_voice_is_served_quickly(cabin):
    # A voice in the noise that the pilot did not say: the answer must not wait for half seconds.
    sizes = []

    class Startled(ToneEar):
        def hear(self, block, at_s):
            sizes.append(len(block))
            super().hear(block, at_s)
            return (SpeechStarted(at_s=at_s, onset_s=at_s),) if len(sizes) == 1 else ()

    listen(microphone(cabin, ear=Startled()), 0.0, 1.0)
    assert sizes[1] == 1600


def test_silent_cabin_has_no_noise(cabin):
    made = microphone(cabin, wanted_db=None)
    sound, _ = listen(made, 0.0, 1.0)
    assert not sound.any()
    made.say("established")
    assert made.find_band_snr_db() is None


def test_speech_band_figure_is_of_the_words_said(cabin):
    made = microphone(cabin, wanted_db=10.0)
    assert made.find_band_snr_db() is None
    made.say("established")
    # The whole voice lies in the band, most of the noise does not.
    assert made.find_band_snr_db() > 14


def test_way_of_saying_is_the_first_of_the_table(cabin):
    asked = []

    def voice(text):
        asked.append(text)
        return tone_voice("established")

    Microphone(ToneEar(), TABLE, voice, cabin, 20.0).say("station passage")
    assert asked == ["station passage"]


class KeepingEar:
    """Keeps what it is given."""

    def __init__(self):
        self.blocks, self.echoes = [], []

    def listen_for(self, ways):
        return

    def hear(self, block, at_s, echo=None):
        self.blocks.append(block)
        self.echoes.append(echo)
        return ()


def test_loudspeaker_is_in_the_microphone_and_beside_it(cabin):
    """The echo canceller is given what was played, a little before it is heard."""
    ear, headset = KeepingEar(), Headset(lambda _: (1000 * NOISE).astype(np.int16), is_open=True)
    speaker = Loudspeaker(room=Room(), reference=EchoReference(headset.played))
    made = Microphone(ear, TABLE, tone_voice, cabin, None, speaker)
    headset.do(Say(prompt=1, text="tone", due_s=None, stale_s=9.0, is_time_call=False))
    for to_sample in range(1600, 2 * RATE_HZ, 1600):
        made.advance(to_sample, headset.advance(3 * to_sample))
    heard, played = np.concatenate(ear.blocks).astype(float), np.concatenate(ear.echoes).astype(float)
    fits = np.correlate(heard[: 2 * len(NOISE)], played[: len(NOISE)], "valid")
    assert np.argmax(fits) / RATE_HZ == pytest.approx(DELAY_S + LEAD_S, abs=0.001)


def test_without_a_loudspeaker_there_is_no_echo(cabin):
    ear = KeepingEar()
    made = Microphone(ear, TABLE, tone_voice, cabin, 20.0)
    listen(made, 0.0, 1.0)
    assert ear.echoes
    assert set(map(type, ear.echoes)) == {type(None)}
