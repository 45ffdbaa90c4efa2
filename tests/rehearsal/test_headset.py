"""The coach's prompts sound through the real mixer, to the sample, whatever the blocks."""

from __future__ import annotations

import numpy as np
import pytest

from coach.rehearsal.headset import Headset, unvoiced
from coach.session.actions import Say, Silence, Sound, Tone
from coach.session.events import PromptDropped, PromptFinished, PromptStarted

RATE_HZ = 48_000


def say(prompt, *, due_s=None, stale_s=100.0, is_time_call=False):
    return Say(
        prompt=prompt, text="Left, one niner five", due_s=due_s, stale_s=stale_s, is_time_call=is_time_call
    )


def loud(_text):
    return np.full(RATE_HZ, 8000, np.int16)


def sounded(headset, from_s, to_s, step_s):
    """Advance in steps; return the whole sound and the events."""
    blocks, events = [], []
    cursor = round(from_s * RATE_HZ)
    while cursor < round(to_s * RATE_HZ):
        start, cursor = cursor, min(cursor + round(step_s * RATE_HZ), round(to_s * RATE_HZ))
        block = headset.advance(cursor)
        blocks.append(np.zeros(cursor - start, np.int16) if block is None else block)
        events += headset.take_events(cursor / RATE_HZ)
    return np.concatenate(blocks), events


@pytest.mark.parametrize("step_s", [0.1, 0.037, 5.0])
def test_first_word_of_a_time_call_sounds_at_its_due_time(step_s):
    headset = Headset(loud)
    headset.do(say(1, due_s=2.0, is_time_call=True))
    sound, events = sounded(headset, 0.0, 5.0, step_s)
    assert int(np.argmax(np.abs(sound) > 6000)) == 2 * RATE_HZ
    assert [(type(event), event.onset_s) for event in events] == [(PromptStarted, 2.0), (PromptFinished, 3.0)]


def test_headset_is_silent_before_and_after():
    headset = Headset(loud)
    assert headset.advance(RATE_HZ) is None
    headset.do(say(1))
    sounded(headset, 1.0, 4.0, 0.1)
    assert headset.advance(5 * RATE_HZ) is None


def test_silence_cuts_what_sounds_and_drops_what_waits():
    headset = Headset(loud)
    headset.do(say(1))
    headset.do(say(2, due_s=10.0))
    sounded(headset, 0.0, 0.5, 0.1)
    headset.do(Silence())
    sound, events = sounded(headset, 0.5, 1.0, 0.1)
    assert [type(event) for event in events] == [PromptFinished, PromptDropped]
    assert not sound[RATE_HZ // 100 :].any()


def test_tone_sounds_with_no_words():
    headset = Headset(loud)
    headset.do(Sound(tone=Tone.HEARD))
    sound, events = sounded(headset, 0.0, 1.0, 0.1)
    assert sound.any()
    assert events == []


def test_unvoiced_prompt_lasts_as_long_as_its_words():
    headset = Headset(unvoiced)
    headset.do(say(1, due_s=1.0))
    _, events = sounded(headset, 0.0, 5.0, 0.1)
    lasted_s = events[1].onset_s - events[0].onset_s
    assert lasted_s == pytest.approx(4 * 0.42, abs=1e-3)
