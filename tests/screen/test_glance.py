"""What there is to see: a prompt when it is due, what was heard, what is lost."""

from dataclasses import replace

from coach.screen.glance import (
    MOST_DUE,
    MOST_TOLD,
    Glance,
    Spoken,
    after_action,
    after_event,
    after_telling,
    find_line,
    find_next_line_s,
)
from coach.session.actions import Finish, Listen, Say, Show, Silence, Sound, Tone
from coach.session.events import (
    EdgeFailed,
    EdgeRecovered,
    NotUnderstood,
    PhraseHeard,
    SpeechStarted,
    TransmitEnded,
    TransmitStarted,
)

SHOW = Show(
    state="flying", leg_n=2, spoke=1, leg="offset", heading_mag_deg=195, course_mag_deg=60,
    timer_from_s=10.0, ends_at_s=70.0, coming="Right, zero one five", note="",
)  # fmt: skip
TIMES = {"at_s": 5.0, "onset_s": 5.0}


def say(text: str, due_s: float | None = None) -> Say:
    return Say(prompt=1, text=text, due_s=due_s, stale_s=99.0, is_time_call=due_s is not None)


def text_at(glance: Glance, now_s: float) -> str | None:
    line = find_line(glance, now_s)
    return line and line.text


def test_a_prompt_is_seen_when_its_word_is_due_and_not_before() -> None:
    glance = after_action(Glance(), say("Right, two four zero"), 10.0)
    glance = after_action(glance, say("Left, one niner five", 70.0), 69.0)
    assert text_at(glance, 69.999) == "Right, two four zero"
    assert find_next_line_s(glance, 69.0) == 70.0
    assert text_at(glance, 70.0) == "Left, one niner five"
    assert find_next_line_s(glance, 70.0) is None


def test_a_prompt_that_is_due_already_is_seen_at_once() -> None:
    assert find_line(after_action(Glance(), say("Passage?", 9.0), 10.0), 10.0) == Spoken(
        text="Passage?", from_s=10.0
    )


def test_silence_takes_back_what_is_not_yet_due_and_keeps_what_was_said() -> None:
    glance = after_action(Glance(), say("Right, two four zero"), 10.0)
    glance = after_action(glance, say("Left, one niner five", 70.0), 69.0)
    glance = after_action(glance, Silence(), 69.5)
    assert text_at(glance, 80.0) == "Right, two four zero"


def test_a_note_that_is_not_said_is_seen_at_once() -> None:
    glance = after_action(Glance(), say("Early"), 10.0)
    glance = after_action(glance, replace(SHOW, note="Undone"), 12.0)
    assert find_line(glance, 12.0) == Spoken(text="Undone", from_s=12.0, is_said=False)


def test_a_note_that_repeats_a_prompt_does_not_come_before_it() -> None:
    glance = after_action(Glance(), say("Left, one niner five", 70.0), 69.0)
    glance = after_action(glance, replace(SHOW, note="Left, one niner five"), 69.0)
    assert text_at(glance, 69.5) is None
    assert text_at(glance, 70.0) == "Left, one niner five"


def test_an_old_note_does_not_come_back_with_the_next_state() -> None:
    glance = after_action(Glance(), replace(SHOW, note="Undone"), 12.0)
    glance = after_action(glance, say("Left, one niner five"), 20.0)
    glance = after_action(glance, replace(SHOW, note="Undone", leg_n=3), 21.0)
    assert text_at(glance, 21.0) == "Left, one niner five"


def test_a_note_is_seen_again_when_it_is_new_again() -> None:
    glance = after_action(Glance(), replace(SHOW, note="Undone"), 12.0)
    glance = after_action(glance, say("Left, one niner five"), 20.0)
    glance = after_action(glance, replace(SHOW, note="Left, one niner five"), 20.0)
    glance = after_action(glance, replace(SHOW, note="Undone"), 22.0)
    assert text_at(glance, 22.0) == "Undone"


def test_lines_that_were_seen_are_not_kept() -> None:
    glance = Glance()
    for n in range(100):
        glance = after_action(glance, say(f"line {n}"), float(n))
    assert glance.lines == (Spoken(text="line 99", from_s=99.0),)
    for n in range(100):
        glance = after_action(glance, say(f"due {n}", 200.0 + n), 100.0)
    assert len(glance.lines) == MOST_DUE


def test_the_state_and_what_is_listened_for_are_kept() -> None:
    glance = after_action(after_action(Glance(), SHOW, 0.0), Listen(phrases=("station passage",)), 0.0)
    assert glance.show == SHOW
    assert glance.listening == ("station passage",)


def test_what_has_nothing_to_show_changes_nothing() -> None:
    assert after_action(Glance(), Sound(tone=Tone.LOW), 0.0) == Glance()
    assert after_action(Glance(), Finish(), 0.0) == Glance()
    assert after_event(Glance(), SpeechStarted(**TIMES)) == Glance()


def test_the_last_words_heard_are_seen_and_how_they_came() -> None:
    voice = after_event(Glance(), PhraseHeard(**TIMES, phrase="station passage", by="voice", score=0.9))
    key = after_event(voice, PhraseHeard(**TIMES, phrase="next leg", by="key"))
    neither = after_event(key, NotUnderstood(**TIMES, reason="too long"))
    assert (voice.heard, key.heard, neither.heard) == (
        "station passage",
        "next leg (key)",
        "not understood: too long",
    )


def test_transmitting_is_seen_as_long_as_it_lasts() -> None:
    glance = after_event(Glance(), TransmitStarted(**TIMES))
    assert glance.is_transmitting
    assert not after_event(glance, TransmitEnded(**TIMES)).is_transmitting


def test_a_fault_is_seen_once_until_it_is_over() -> None:
    gone = EdgeFailed(**TIMES, edge="speaker", reason="Speaker gone")
    glance = after_event(after_event(Glance(), gone), gone)
    glance = after_event(
        glance, EdgeFailed(**TIMES, edge="journal", reason="journal: No space left on device")
    )
    assert glance.faults == (("speaker", "Speaker gone"), ("journal", "journal: No space left on device"))
    glance = after_event(glance, EdgeRecovered(**TIMES, edge="speaker"))
    assert glance.faults == (("journal", "journal: No space left on device"),)


def test_only_the_newest_lines_told_are_kept() -> None:
    glance = Glance()
    for n in range(20):
        glance = after_telling(glance, f"{n}")
    assert glance.told == tuple(f"{n}" for n in range(20 - MOST_TOLD, 20))
