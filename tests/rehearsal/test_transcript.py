"""What was heard is laid beside what was said, by onset; misses and false alarms stay visible."""

from __future__ import annotations

from coach.rehearsal.transcript import Called, Heard, Said, Transcript, clock
from coach.session.actions import Say
from coach.session.events import NotUnderstood, PhraseHeard, PromptStarted


def said(onset_s, phrase, *, by_key=False):
    return Said(onset_s=onset_s, ends_s=onset_s + 1.0, phrase=phrase, by_key=by_key)


def heard(onset_s, phrase, *, at_s):
    return PhraseHeard(at_s=at_s, onset_s=onset_s, phrase=phrase, by="voice", score=1.0)


def test_word_understood_is_one_row_with_the_onset_error():
    transcript = Transcript()
    transcript.note_word(said(10.0, "established"))
    transcript.note_event(heard(10.02, "established", at_s=11.4))
    transcript.close()
    (row,) = transcript.heard
    assert (row.at_s, row.onset_s, row.said, row.understood) == (11.4, 10.02, "established", "established")
    assert round(row.onset_error_s, 6) == 0.02


def test_word_taken_for_another_shows_both():
    transcript = Transcript()
    transcript.note_word(said(10.0, "needle alive"))
    transcript.note_event(heard(10.0, "wings level", at_s=11.0))
    assert [(row.said, row.understood) for row in transcript.heard] == [("needle alive", "wings level")]


def test_word_not_understood_and_said_again_are_two_rows():
    transcript = Transcript()
    transcript.note_word(said(10.0, "needle alive"))
    transcript.note_event(NotUnderstood(at_s=11.5, onset_s=10.1, reason="too unsure"))
    transcript.note_word(said(15.0, "needle alive"))
    transcript.note_event(heard(15.0, "needle alive", at_s=16.2))
    transcript.close()
    assert [(row.said, row.understood) for row in transcript.heard] == [
        ("needle alive", None),
        ("needle alive", "needle alive"),
    ]


def test_word_that_nothing_came_of_is_missed():
    transcript = Transcript()
    transcript.note_word(said(10.0, "needle alive"))
    transcript.close()
    assert transcript.heard == [
        Heard(at_s=11.0, onset_s=10.0, said="needle alive", understood=None, onset_error_s=None)
    ]


def test_phrase_heard_where_nobody_spoke_is_a_false_alarm():
    transcript = Transcript()
    transcript.note_word(said(10.0, "established"))
    transcript.note_event(heard(40.0, "established", at_s=41.0))
    transcript.close()
    assert [(row.onset_s, row.said, row.understood) for row in transcript.heard] == [
        (10.0, "established", None),
        (40.0, None, "established"),
    ]


def test_keys_are_not_heard():
    transcript = Transcript()
    transcript.note_word(said(10.0, "established", by_key=True))
    transcript.note_event(PhraseHeard(at_s=10.0, onset_s=10.0, phrase="established", by="key"))
    transcript.close()
    assert transcript.heard == []
    assert len(transcript.said) == 1


def test_prompt_is_a_call_at_its_first_word():
    transcript = Transcript()
    transcript.note_action(
        Say(prompt=1, text="Left, zero six five", due_s=20.0, stale_s=22.0, is_time_call=True)
    )
    assert transcript.calls == []
    transcript.note_event(PromptStarted(at_s=20.1, onset_s=20.0, prompt=1))
    assert transcript.calls == [Called(at_s=20.0, due_s=20.0, what="Left, zero six five", is_time_call=True)]


def test_each_thing_is_told_as_one_line():
    lines = []
    transcript = Transcript(tell=lines.append)
    transcript.note_turn(61.6, "turn of leg 1")
    transcript.note_word(said(61.6, "station passage"))
    transcript.note_event(heard(61.6, "station passage", at_s=63.2))
    transcript.note_word(said(70.0, "established"))
    transcript.note_event(NotUnderstood(at_s=71.0, onset_s=70.0, reason="too unsure"))
    transcript.note_word(said(75.0, "established", by_key=True))
    transcript.note_event(heard(90.0, "time", at_s=91.0))
    assert lines == [
        "  1:01.6  flight  turn of leg 1",
        '  1:01.6  pilot   "station passage" (understood 1.6 s later)',
        '  1:10.0  pilot   "established" (not understood)',
        "  1:15.0  pilot   [established] (key)",
        "  1:30.0  pilot   (nothing said; understood: time)",
    ]


def test_clock_rounds_to_tenths_across_the_minute():
    assert clock(59.96) == "  1:00.0"
    assert clock(3599.94) == " 59:59.9"
