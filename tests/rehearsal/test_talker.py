"""A word is said, said again after five seconds, then the key is pressed; an answer ends it."""

from __future__ import annotations

from coach.rehearsal.talker import Talker, Word


def words(talker, from_s, to_s):
    """Ask ten times a second what he says."""
    found = (talker.find_word(from_s + tenth / 10) for tenth in range(round((to_s - from_s) * 10) + 1))
    return [word for word in found if word is not None]


def test_word_waits_for_its_time():
    talker = Talker(only_keys=False)
    talker.want("established", 3.0)
    assert words(talker, 0.0, 2.9) == []
    assert words(talker, 3.0, 5.0) == [Word(at_s=3.0, phrase="established", by_key=False)]


def test_answered_word_is_not_said_again():
    talker = Talker(only_keys=False)
    talker.want("established", 0.0)
    assert len(words(talker, 0.0, 2.0)) == 1
    talker.hear_answer()
    assert not talker.is_waiting
    assert words(talker, 2.0, 30.0) == []


def test_unanswered_word_is_said_again_then_the_key_is_pressed_and_the_drill_resumed():
    talker = Talker(only_keys=False)
    talker.want("needle alive", 1.0)
    assert words(talker, 0.0, 60.0) == [
        Word(at_s=1.0, phrase="needle alive", by_key=False),
        Word(at_s=6.0, phrase="needle alive", by_key=False),
        Word(at_s=11.0, phrase="needle alive", by_key=True),
        Word(at_s=16.0, phrase="resume drill", by_key=True),
        Word(at_s=21.0, phrase="needle alive", by_key=True),
    ]
    assert not talker.is_waiting


def test_answer_before_the_word_is_for_something_else():
    talker = Talker(only_keys=False)
    talker.want("established", 2.0)
    talker.hear_answer()
    assert len(words(talker, 0.0, 3.0)) == 1


def test_use_key_is_obeyed_at_once():
    talker = Talker(only_keys=False)
    talker.want("established", 0.0)
    words(talker, 0.0, 1.5)
    talker.hear_use_key(2.0)
    assert words(talker, 2.0, 4.0) == [Word(at_s=3.0, phrase="established", by_key=True)]


def test_last_word_is_remembered_while_an_answer_may_come():
    talker = Talker(only_keys=True)
    talker.want("next leg", 1.0)
    words(talker, 0.0, 2.0)
    talker.hear_answer()
    assert talker.has_said("next leg", 8.0)
    assert not talker.has_said("next leg", 10.0)
    assert not talker.has_said("established", 2.0)


def test_early_is_answered_by_saying_it_again():
    talker = Talker(only_keys=True)
    talker.want("station passage", 0.0)
    words(talker, 0.0, 1.0)
    talker.hear_early(2.0)
    (again,) = words(talker, 2.0, 5.0)
    assert again.phrase == "station passage"
    assert 3.0 <= again.at_s <= 5.0


def test_early_without_a_word_before_it_means_nothing():
    talker = Talker(only_keys=True)
    talker.hear_early(2.0)
    assert words(talker, 2.0, 20.0) == []


def test_newer_word_takes_the_older_ones_place():
    talker = Talker(only_keys=False)
    talker.want("established", 0.0)
    words(talker, 0.0, 1.0)
    talker.want("station passage", 2.0)
    assert [word.phrase for word in words(talker, 1.0, 6.0)] == ["station passage"]


def test_pilot_with_keys_only_presses_keys():
    talker = Talker(only_keys=True)
    talker.want("established", 0.0)
    assert [word.by_key for word in words(talker, 0.0, 1.0)] == [True]
