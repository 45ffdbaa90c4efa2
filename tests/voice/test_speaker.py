import queue

import numpy as np
import pytest

from coach.errors import SetupError
from coach.session.actions import Say, Silence, Sound, Tone
from coach.session.events import EdgeFailed, EdgeRecovered, PromptDropped, PromptFinished, PromptStarted
from coach.voice import output_line
from coach.voice.mixer import lead
from coach.voice.output_device import BLOCK_FRAMES
from coach.voice.pcm import FADE_S, RATE_HZ, sample_at
from coach.voice.speaker import Speaker
from tests.voice.fake_output import DELAY_S, FakeCard, FakeClock, FakeServer, FakeVoice

WITHIN_S = 10.0
"""How long a test waits for another thread before it fails; nothing takes that long."""


class Bench:
    """A speaker on a fake card, its events in a queue."""

    def __init__(self, monkeypatch, **settings):
        monkeypatch.setattr(output_line, "BACK_OFF_S", (0.001,))
        self.clock = FakeClock()
        self.card = FakeCard(self.clock)
        self.voice = FakeVoice()
        self.server = FakeServer()
        self.events = queue.Queue()
        self.speaker = Speaker(
            self.voice,
            clock=self.clock,
            post=self.events.put,
            find_device=self.card.find,
            open_stream=self.card.open,
            server=self.server,
            **settings,
        )

    def run(self):
        """Start, and play until the stream has settled."""
        self.speaker.start()
        stream = self.card.stream()
        stream.play(1.0)
        return stream

    def next_event(self):
        return self.events.get(timeout=WITHIN_S)


@pytest.fixture
def bench(monkeypatch):
    bench = Bench(monkeypatch)
    yield bench
    bench.speaker.close()


def say(prompt=1, text="Left", *, due_s=None, stale_s=1e6, is_time_call=False):
    return Say(prompt=prompt, text=text, due_s=due_s, stale_s=stale_s, is_time_call=is_time_call)


def first_word_at(sound):
    return int(np.argmax((sound[:-1] == FakeVoice.LEVEL) & (sound[1:] == FakeVoice.LEVEL)))


class TestSaying:
    def test_word_sounds_at_its_due_time(self, bench):
        stream = bench.run()
        bench.speaker.do(say(due_s=2.5, is_time_call=True))
        from_s = bench.clock() + DELAY_S
        assert abs(from_s * RATE_HZ + first_word_at(stream.play(4.0)) - 2.5 * RATE_HZ) <= 1

    def test_start_and_end_are_told_with_the_time_of_the_first_sample(self, bench):
        stream = bench.run()
        bench.speaker.do(say(7, due_s=2.5))
        stream.play(4.0)
        started, finished = bench.next_event(), bench.next_event()
        assert (started.prompt, started.onset_s) == (7, pytest.approx(2.5, abs=1e-4))
        assert (finished.prompt, finished.is_cut) == (7, False)
        assert finished.onset_s == pytest.approx(3.5, abs=1e-4)
        assert started.at_s >= started.onset_s

    def test_prompt_given_while_the_device_opens_is_said_when_it_runs(self, bench):
        bench.speaker.do(say())
        bench.run()
        assert isinstance(bench.next_event(), PromptStarted)

    def test_text_that_is_not_ready_is_rendered_beside_the_caller(self, bench):
        bench.voice.may_render.clear()
        stream = bench.run()
        bench.speaker.do(say(1, "slow"))
        bench.speaker.do(say(2))
        stream.play(3.0)
        assert bench.next_event().prompt == 2
        bench.voice.may_render.set()
        while bench.events.empty() or not isinstance(event := bench.next_event(), PromptStarted):
            stream.play(0.1)
        assert event.prompt == 1

    def test_volume_scales_what_begins_next(self, bench):
        stream = bench.run()
        bench.speaker.volume = 0.5
        bench.speaker.do(say())
        assert stream.play(2.0)[lead() + 1_000] == FakeVoice.LEVEL // 2

    def test_tone_sounds(self, bench):
        stream = bench.run()
        bench.speaker.do(Sound(tone=Tone.HEARD))
        assert np.abs(stream.play(0.5)).max() > 1_000

    def test_what_was_played_can_be_read_back_by_time(self, bench):
        stream = bench.run()
        bench.speaker.do(say())
        from_sample = sample_at(bench.clock() + DELAY_S)
        sound = stream.play(2.0)
        played = bench.speaker.played
        assert np.array_equal(played.row(played.index_at(from_sample), sound.size), sound)

    def test_gaps_of_the_card_are_counted(self, bench):
        stream = bench.run()
        stream.play(3 * BLOCK_FRAMES / RATE_HZ, has_gap=True)
        assert bench.speaker.n_gaps == 3


class TestSilence:
    def test_sound_is_gone_after_the_next_block(self, bench):
        stream = bench.run()
        bench.speaker.do(say())
        stream.play(0.8)
        bench.speaker.do(Silence())
        assert not stream.play(1.0)[sample_at(FADE_S) :].any()

    def test_prompt_cut_off_is_told(self, bench):
        stream = bench.run()
        bench.speaker.do(say())
        stream.play(0.8)
        bench.speaker.do(Silence())
        stream.play(0.5)
        assert isinstance(bench.next_event(), PromptStarted)
        finished = bench.next_event()
        assert isinstance(finished, PromptFinished)
        assert finished.is_cut

    def test_text_rendered_after_the_silence_is_not_said(self, bench):
        bench.voice.may_render.clear()
        stream = bench.run()
        bench.speaker.do(say(1, "slow"))
        bench.speaker.do(Silence())
        bench.voice.may_render.set()
        bench.speaker.do(say(2, "slow"))
        while bench.events.empty() or not isinstance(event := bench.next_event(), PromptStarted):
            stream.play(0.1)
        assert event.prompt == 2


class TestVoiceGone:
    def test_prompt_that_cannot_be_rendered_is_dropped_and_told_once(self, bench):
        bench.run()
        bench.speaker.do(say(1, "dumb"))
        bench.speaker.do(say(2, "dumb"))
        told = [bench.next_event() for _ in range(3)]
        failed = [event for event in told if isinstance(event, EdgeFailed)]
        dropped = [event for event in told if isinstance(event, PromptDropped)]
        assert [(event.edge, event.reason) for event in failed] == [
            ("voice", "voice: the speech process hung")
        ]
        assert [(event.prompt, event.reason) for event in dropped] == [(1, "no voice"), (2, "no voice")]

    def test_voice_that_is_back_is_told(self, bench):
        bench.run()
        bench.speaker.do(say(1, "dumb"))
        bench.speaker.do(say(2, "slow"))
        told = [bench.next_event() for _ in range(3)]
        assert [event.edge for event in told if isinstance(event, EdgeRecovered)] == ["voice"]

    def test_more_texts_than_can_wait_are_dropped_and_the_caller_goes_on(self, bench):
        bench.voice.may_render.clear()
        bench.run()
        for prompt in range(100):
            bench.speaker.do(say(prompt, "slow"))
        assert bench.next_event().reason == "no voice"
        bench.voice.may_render.set()


class TestDeviceGone:
    def test_stream_that_ends_is_told_and_opened_again(self, bench):
        stream = bench.run()
        stream.end()
        failed = bench.next_event()
        assert (failed.edge, failed.reason) == ("speaker", "the sound device is gone")
        bench.card.stream(2).play(1.0)
        recovered = bench.next_event()
        assert (type(recovered), recovered.edge) == (EdgeRecovered, "speaker")
        assert stream.is_closed.wait(WITHIN_S)

    def test_loss_is_told_once_however_often_opening_fails(self, bench):
        stream = bench.run()
        bench.card.unplug()
        stream.end()
        assert isinstance(bench.next_event(), EdgeFailed)
        while bench.card.n_refused < 20:
            assert bench.events.empty()
        bench.card.plug()
        bench.card.stream(2).play(1.0)
        assert isinstance(bench.next_event(), EdgeRecovered)

    def test_prompt_that_sounds_is_cut_and_others_are_dropped(self, bench):
        stream = bench.run()
        bench.speaker.do(say(1))
        bench.speaker.do(say(2))
        stream.play(0.8)
        bench.card.unplug()
        stream.end()
        bench.clock.now_s += DELAY_S
        told = [bench.next_event() for _ in range(4)]
        assert PromptFinished in map(type, told)
        assert [(e.prompt, e.reason) for e in told if isinstance(e, PromptDropped)] == [(2, "no speaker")]

    def test_prompt_given_while_there_is_no_device_is_dropped(self, bench):
        stream = bench.run()
        bench.card.unplug()
        stream.end()
        assert isinstance(bench.next_event(), EdgeFailed)
        bench.speaker.do(say(5))
        dropped = bench.next_event()
        assert (dropped.prompt, dropped.reason) == (5, "no speaker")

    def test_lost_stream_sounds_nothing_any_more(self, bench):
        stream = bench.run()
        stream.end()
        bench.next_event()
        bench.card.stream(2)
        bench.speaker.do(say())
        assert not stream.play(1.0).any()

    def test_device_that_refuses_at_the_start_is_told(self, bench):
        bench.card.unplug()
        bench.speaker.start()
        assert bench.next_event().reason == "speaker: card did not open (no such device)"

    def test_unknown_device_is_told_before_the_flight(self, monkeypatch):
        with pytest.raises(SetupError, match="expected one of card, got 'radio'"):
            Bench(monkeypatch, device="radio").speaker.start()


class TestDeviceMoved:
    @pytest.fixture
    def moved(self, bench):
        """A speaker on a headset that was pulled out, so that its stream was moved."""
        stream = bench.run()
        bench.server.put("headset", ("headset", "loudspeaker"))
        bench.server.put("loudspeaker", ("loudspeaker",))
        assert bench.next_event().reason == "headset is gone, the sound comes from elsewhere"
        return stream

    def test_sound_that_comes_from_elsewhere_goes_on(self, bench, moved):
        bench.speaker.do(say())
        assert FakeVoice.LEVEL in moved.play(1.0)

    def test_stream_is_moved_back_when_its_device_is_back(self, bench, moved):
        bench.server.put("loudspeaker", ("headset", "loudspeaker"))
        bench.server.put(bench.server.on, ("headset", "loudspeaker"))
        assert isinstance(bench.next_event(), EdgeRecovered)
        assert bench.server.on == "headset"

    def test_stream_opened_anew_still_knows_where_it_belongs(self, bench, moved):
        moved.end()
        stream = bench.card.stream(2)
        stream.play(1.0)
        bench.server.put("loudspeaker", ("loudspeaker",))
        bench.speaker.do(say())
        stream.play(1.0)
        assert isinstance(bench.next_event(), PromptStarted)

    def test_stream_the_user_moves_is_no_trouble(self, bench):
        stream = bench.run()
        bench.server.put("headset", ("headset", "loudspeaker"))
        bench.server.put("loudspeaker", ("headset", "loudspeaker"))
        bench.server.put("loudspeaker", ("loudspeaker",))
        bench.speaker.do(say())
        stream.play(1.0)
        assert isinstance(bench.next_event(), PromptStarted)


def test_closing_a_speaker_that_was_never_started_is_harmless(monkeypatch):
    Bench(monkeypatch).speaker.close()


def test_closing_closes_the_stream_and_ends_the_threads(bench):
    stream = bench.run()
    bench.speaker.close()
    assert stream.is_closed.is_set()
    assert bench.events.empty()
