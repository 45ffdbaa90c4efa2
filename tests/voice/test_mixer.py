import numpy as np
import pytest

from coach.session.actions import Say, Silence, Sound, Tone
from coach.session.events import PromptDropped, PromptFinished, PromptStarted
from coach.voice.mixer import CUE_GAP_S, PAUSE_S, Dropped, Finished, Mixer, Started, event_of, lead
from coach.voice.pcm import FADE_S, RATE_HZ, sample_at
from coach.voice.tones import render_tone

LEVEL = 1_000
"""Every sample of the words in these tests, so that they are told from a tone and from a fade."""


def words(length_s=1.0):
    return np.full(sample_at(length_s), LEVEL, dtype=np.int16)


def say(prompt=1, *, due_s=None, stale_s=1e6, is_time_call=False):
    return Say(prompt=prompt, text="…", due_s=due_s, stale_s=stale_s, is_time_call=is_time_call)


def call(prompt=1, *, due_s, stale_s=1e6):
    return say(prompt, due_s=due_s, stale_s=stale_s, is_time_call=True)


def run(mixer, *, from_s=0.0, to_s=5.0, block_s=0.02):
    """Render block by block; return the sound, its sample 0 at `from_s`."""
    starts = range(sample_at(from_s), sample_at(to_s), sample_at(block_s))
    return np.concatenate([mixer.render(sample_at(block_s), start) for start in starts])


def first_word_at(sound):
    return int(np.argmax((sound[:-1] == LEVEL) & (sound[1:] == LEVEL)))


class TestPlacing:
    def test_word_of_a_due_prompt_sounds_at_its_sample(self):
        mixer = Mixer()
        mixer.do(call(due_s=1.2345), words())
        assert first_word_at(run(mixer)) == sample_at(1.2345)

    def test_cue_tone_and_a_gap_come_before_the_word(self):
        mixer = Mixer()
        mixer.do(call(due_s=1.0), words())
        sound = run(mixer)
        cue_from, word_from = sample_at(1.0) - lead(), sample_at(1.0)
        assert not sound[:cue_from].any()
        assert np.array_equal(sound[cue_from : cue_from + render_tone(Tone.CUE).size], render_tone(Tone.CUE))
        assert not sound[word_from - sample_at(CUE_GAP_S) : word_from].any()

    def test_prompt_without_due_time_begins_with_the_next_block(self):
        mixer = Mixer()
        run(mixer, to_s=1.0)
        mixer.do(say(), words())
        assert first_word_at(run(mixer, from_s=1.0)) == lead()

    def test_word_that_is_due_before_the_cue_fits_comes_after_the_whole_cue(self):
        mixer = Mixer()
        mixer.do(call(due_s=0.1), words())
        assert first_word_at(run(mixer)) == lead()

    @pytest.mark.parametrize("block_s", [0.005, 0.01, 0.7, 5.0])
    def test_length_of_the_blocks_changes_nothing(self, block_s):
        def fill(mixer):
            mixer.do(call(1, due_s=1.0), words())
            mixer.do(say(2), words())
            mixer.do(call(3, due_s=2.9), words(0.5))
            mixer.do(Sound(tone=Tone.LOW, due_s=1.5))
            return mixer

        one, other = fill(Mixer()), fill(Mixer())
        assert np.array_equal(
            run(one, to_s=7.0)[: 4 * RATE_HZ], run(other, to_s=7.0, block_s=block_s)[: 4 * RATE_HZ]
        )
        assert one.take_facts() == other.take_facts()

    def test_prompt_that_has_begun_stays_whole_when_the_time_jumps(self):
        mixer = Mixer()
        mixer.do(say(), words(0.5))
        before = mixer.render(sample_at(0.4), 0)
        after = mixer.render(sample_at(0.6), sample_at(1.4))
        assert (np.concatenate([before, after]) == LEVEL).sum() >= words(0.5).size

    @pytest.mark.parametrize("gap_s", [0.003, 0.05, 0.15])
    def test_word_is_in_time_after_a_gap_in_the_sound_before_it(self, gap_s):
        mixer = Mixer()
        mixer.do(call(due_s=1.0), words())
        run(mixer, to_s=0.8)
        after = run(mixer, from_s=0.8 + gap_s)
        assert first_word_at(after) == sample_at(1.0) - sample_at(0.8 + gap_s)
        assert mixer.take_facts()[0] == Started(prompt=1, sample=sample_at(1.0))

    def test_word_follows_at_once_after_a_gap_beyond_its_due_time(self):
        mixer = Mixer()
        mixer.do(call(due_s=1.0), words())
        run(mixer, to_s=0.8)
        assert first_word_at(run(mixer, from_s=1.1)) == 0
        assert mixer.take_facts()[0] == Started(prompt=1, sample=sample_at(1.1))

    def test_gain_scales_words_and_tones(self):
        mixer = Mixer(gain=0.5)
        mixer.do(say(), words())
        sound = run(mixer)
        assert sound[lead() : lead() + sample_at(1.0)].max() == LEVEL // 2
        assert abs(int(sound[: lead()].max()) - render_tone(Tone.CUE).max() / 2) <= 1

    def test_loud_sounds_together_are_clipped_and_never_wrap(self):
        mixer = Mixer()
        mixer.do(say(), np.full(RATE_HZ, 32_000, dtype=np.int16))
        mixer.do(Sound(tone=Tone.LOW, due_s=0.5))
        assert run(mixer)[sample_at(0.5) :].min() >= 0


class TestOneVoiceAtATime:
    def test_second_prompt_waits_for_the_first_and_a_pause(self):
        mixer = Mixer()
        mixer.do(say(1), words())
        mixer.do(say(2), words())
        run(mixer)
        second = lead() + RATE_HZ + sample_at(PAUSE_S) + lead()
        assert [fact.sample for fact in mixer.take_facts() if isinstance(fact, Started)] == [lead(), second]

    def test_prompts_keep_the_order_they_came_in(self):
        mixer = Mixer()
        for prompt in (4, 2, 9):
            mixer.do(say(prompt), words(0.1))
        run(mixer)
        assert [fact.prompt for fact in mixer.take_facts() if isinstance(fact, Started)] == [4, 2, 9]

    def test_time_call_cuts_off_another_prompt_and_is_on_time(self):
        mixer = Mixer()
        mixer.do(say(1), words(3.0))
        run(mixer, to_s=1.0)
        mixer.do(call(2, due_s=2.0), words())
        sound = run(mixer, from_s=1.0)
        cut_at = sample_at(2.0) - lead()
        assert first_word_at(sound[sample_at(0.9) :]) == sample_at(0.1)
        assert mixer.take_facts() == (
            Started(prompt=1, sample=lead()),
            Finished(prompt=1, sample=cut_at, is_cut=True),
            Started(prompt=2, sample=sample_at(2.0)),
            Finished(prompt=2, sample=sample_at(3.0), is_cut=False),
        )

    def test_prompt_cut_off_in_its_cue_tone_counts_as_dropped(self):
        mixer = Mixer()
        mixer.do(say(1), words())
        run(mixer, to_s=0.1)
        mixer.do(call(2, due_s=0.1 + lead() / RATE_HZ), words())
        run(mixer, from_s=0.1)
        assert mixer.take_facts()[0] == Dropped(prompt=1, sample=sample_at(0.1), reason="gave way")

    def test_prompt_that_would_run_into_a_known_time_call_waits_until_after_it(self):
        mixer = Mixer()
        mixer.do(call(1, due_s=1.0), words())
        mixer.do(say(2), words())
        run(mixer)
        facts = mixer.take_facts()
        assert [fact.prompt for fact in facts if isinstance(fact, Started)] == [1, 2]
        assert not any(fact.is_cut for fact in facts if isinstance(fact, Finished))

    def test_prompt_that_fits_before_a_time_call_is_said_first(self):
        mixer = Mixer()
        mixer.do(call(1, due_s=3.0), words())
        mixer.do(say(2), words())
        run(mixer)
        assert [fact.prompt for fact in mixer.take_facts() if isinstance(fact, Started)] == [2, 1]

    def test_tone_sounds_over_a_prompt_without_cutting_it(self):
        mixer = Mixer()
        mixer.do(say(), words())
        mixer.do(Sound(tone=Tone.HEARD, due_s=0.6))
        sound = run(mixer).astype(int)
        tone = sound[sample_at(0.6) : sample_at(0.6) + render_tone(Tone.HEARD).size] - LEVEL
        assert np.array_equal(tone, render_tone(Tone.HEARD))
        assert mixer.take_facts()[-1] == Finished(prompt=1, sample=lead() + RATE_HZ, is_cut=False)


class TestStale:
    def test_prompt_that_cannot_sound_in_time_is_dropped(self):
        mixer = Mixer()
        mixer.do(say(1), words(3.0))
        mixer.do(say(2, stale_s=2.0), words())
        assert first_word_at(run(mixer)) == lead()
        assert Dropped(prompt=2, sample=0, reason="stale") in mixer.take_facts()

    def test_time_call_too_late_is_dropped_and_cuts_nothing(self):
        mixer = Mixer()
        mixer.do(say(1), words(2.0))
        run(mixer, to_s=1.0)
        mixer.do(call(2, due_s=0.5, stale_s=1.0), words())
        run(mixer, from_s=1.0)
        assert [type(fact) for fact in mixer.take_facts()] == [Started, Dropped, Finished]

    def test_prompt_whose_words_never_come_is_dropped_when_stale(self):
        mixer = Mixer()
        mixer.do(say(1, stale_s=2.0))
        run(mixer)
        (dropped,) = mixer.take_facts()
        assert dropped.reason == "stale"
        assert abs(dropped.sample - (sample_at(2.0) - lead())) <= sample_at(0.02)

    def test_prompt_that_can_just_sound_in_time_is_said(self):
        mixer = Mixer()
        mixer.do(say(1, stale_s=lead() / RATE_HZ), words())
        run(mixer)
        assert isinstance(mixer.take_facts()[0], Started)


class TestSilence:
    def test_sound_is_gone_after_a_short_fade_in_the_next_block(self):
        mixer = Mixer()
        mixer.do(say(), words(3.0))
        run(mixer, to_s=1.0)
        mixer.do(Silence())
        sound = run(mixer, from_s=1.0)
        assert not sound[sample_at(FADE_S) :].any()

    def test_fade_has_no_step(self):
        mixer = Mixer()
        mixer.do(say(), words(3.0))
        before = run(mixer, to_s=1.0)
        mixer.do(Silence())
        sound = np.concatenate([before[-10:], run(mixer, from_s=1.0)]).astype(int)
        assert np.abs(np.diff(sound)).max() <= LEVEL * 0.02

    def test_what_waits_is_taken_back_and_never_sounds(self):
        mixer = Mixer()
        mixer.do(call(1, due_s=2.0), words())
        mixer.do(say(2))
        mixer.do(Sound(tone=Tone.LOW, due_s=2.0))
        mixer.do(Silence())
        mixer.supply(2, words())
        assert not run(mixer).any()
        assert mixer.take_facts() == (
            Dropped(prompt=1, sample=0, reason="silenced"),
            Dropped(prompt=2, sample=0, reason="silenced"),
        )

    def test_prompt_given_after_the_silence_is_said(self):
        mixer = Mixer()
        mixer.do(say(1), words(3.0))
        run(mixer, to_s=1.0)
        mixer.do(Silence())
        mixer.do(say(2), words())
        run(mixer, from_s=1.0)
        assert [type(fact) for fact in mixer.take_facts()] == [Started, Finished, Started, Finished]

    def test_tone_that_sounds_is_cut_off(self):
        mixer = Mixer()
        mixer.do(Sound(tone=Tone.LOW))
        run(mixer, to_s=0.1)
        mixer.do(Silence())
        assert not run(mixer, from_s=0.1)[sample_at(FADE_S) :].any()


class TestWordsThatFollow:
    def test_prompt_begins_when_its_words_are_there(self):
        mixer = Mixer()
        mixer.do(say())
        assert not run(mixer, to_s=1.0).any()
        mixer.supply(1, words())
        assert first_word_at(run(mixer, from_s=1.0)) == lead()

    def test_prompt_that_is_ready_does_not_wait_for_one_that_is_not(self):
        mixer = Mixer()
        mixer.do(say(1))
        mixer.do(say(2), words())
        run(mixer)
        assert mixer.take_facts()[0] == Started(prompt=2, sample=lead())

    def test_dropped_prompt_tells_why(self):
        mixer = Mixer()
        mixer.do(say(7))
        mixer.drop(7, "no voice")
        assert mixer.take_facts() == (Dropped(prompt=7, sample=0, reason="no voice"),)
        assert mixer.is_idle


class TestPlayed:
    def test_reference_is_what_was_rendered(self):
        mixer = Mixer()
        mixer.do(say(), words())
        sound = run(mixer, to_s=2.0)
        assert np.array_equal(
            mixer.played.row(mixer.played.index_at(sample_at(0.5)), RATE_HZ),
            sound[sample_at(0.5) :][:RATE_HZ],
        )

    def test_silence_is_recorded_too(self):
        mixer = Mixer()
        run(mixer, to_s=1.0)
        assert mixer.played.end_sample == RATE_HZ


class TestEventOf:
    @pytest.mark.parametrize(
        ("fact", "event"),
        [
            (Started(prompt=3, sample=48_000), PromptStarted(at_s=1.5, onset_s=1.0, prompt=3)),
            (
                Finished(prompt=3, sample=48_000, is_cut=True),
                PromptFinished(at_s=1.5, onset_s=1.0, prompt=3, is_cut=True),
            ),
            (
                Dropped(prompt=3, sample=48_000, reason="stale"),
                PromptDropped(at_s=1.5, onset_s=1.0, prompt=3, reason="stale"),
            ),
        ],
        ids=["started", "finished", "dropped"],
    )
    def test_fact_becomes_the_sessions_event(self, fact, event):
        assert event_of(fact, 1.5) == event

    def test_onset_is_never_after_the_event(self):
        assert event_of(Started(prompt=1, sample=96_000), 1.5).onset_s == 1.5
