"""Keys as facts: one for each press, none for key repeat, a transmit key held or switched."""

import pytest

from coach.screen.keypad import RELEASED_AFTER_S, REPEAT_WITHIN_S, KeyPad
from coach.session.events import Event, PhraseHeard, TransmitEnded, TransmitStarted
from tests.screen.test_layout import TABLE


def heard(phrase: str, at_s: float) -> PhraseHeard:
    return PhraseHeard(at_s=at_s, onset_s=at_s, phrase=phrase, by="key")


def test_a_key_of_the_table_is_its_phrase() -> None:
    pad = KeyPad(TABLE)
    assert pad.press("p", 1.0) == heard("station passage", 1.0)
    assert pad.press("space", 1.1) == heard("next leg", 1.1)
    assert pad.press("m", 1.2) == heard("mute", 1.2)


@pytest.mark.parametrize("key", ["P", "z", "up", "é"])
def test_a_key_that_stands_for_nothing_is_nothing(key: str) -> None:
    assert KeyPad(TABLE).press(key, 1.0) is None


def test_a_key_held_down_is_pressed_once() -> None:
    pad = KeyPad(TABLE)
    times = [1.0, 1.66, *(1.7 + 0.04 * n for n in range(50))]
    assert [pad.press("p", at_s) for at_s in times] == [heard("station passage", 1.0), *[None] * 51]


def test_a_key_pressed_again_later_is_a_second_press() -> None:
    pad = KeyPad(TABLE)
    pad.press("p", 1.0)
    assert pad.press("p", 1.0 + REPEAT_WITHIN_S) == heard("station passage", 1.0 + REPEAT_WITHIN_S)


def test_a_key_after_another_is_a_press_however_quick() -> None:
    pad = KeyPad(TABLE)
    pressed = [pad.press(key, 1.0 + 0.1 * n) for n, key in enumerate("psp")]
    assert [event and event.phrase for event in pressed] == [
        "station passage",
        "say again",
        "station passage",
    ]


def dialogue(pad: KeyPad, *steps: tuple[str | None, float]) -> list[Event | None]:
    """Press a key, or (None) wait, at each time."""
    return [pad.wait(at_s) if key is None else pad.press(key, at_s) for key, at_s in steps]


def test_a_transmit_key_held_lasts_as_long_as_it_repeats() -> None:
    pad = KeyPad(TABLE)
    events = dialogue(pad, ("x", 1.0), ("x", 1.5), ("x", 1.53), ("x", 1.56), (None, 1.7))
    assert events == [TransmitStarted(at_s=1.0, onset_s=1.0), None, None, None, None]
    assert pad.released_at_s == 1.56 + RELEASED_AFTER_S
    assert pad.wait(1.9) == TransmitEnded(at_s=1.9, onset_s=1.56)
    assert pad.released_at_s is None
    assert pad.wait(2.0) is None


def test_a_transmit_key_pressed_once_lasts_until_it_is_pressed_again() -> None:
    pad = KeyPad(TABLE)
    assert dialogue(pad, ("x", 1.0), (None, 30.0)) == [TransmitStarted(at_s=1.0, onset_s=1.0), None]
    assert pad.released_at_s is None
    assert pad.press("x", 31.0) == TransmitEnded(at_s=31.0, onset_s=31.0)
    assert pad.press("x", 40.0) == TransmitStarted(at_s=40.0, onset_s=40.0)


def test_two_quick_presses_of_the_transmit_key_do_not_leave_the_ear_closed() -> None:
    pad = KeyPad(TABLE)
    dialogue(pad, ("x", 1.0), ("x", 1.2))
    assert pad.wait(1.6) == TransmitEnded(at_s=1.6, onset_s=1.2)


def test_repeats_that_go_on_after_the_release_start_nothing() -> None:
    pad = KeyPad(TABLE)
    dialogue(pad, ("x", 1.0), ("x", 1.5), (None, 1.9))
    assert dialogue(pad, ("x", 1.95), ("x", 2.0), (None, 9.0)) == [None, None, None]


def test_phrases_work_while_transmitting() -> None:
    pad = KeyPad(TABLE)
    assert dialogue(pad, ("x", 1.0), ("p", 2.0), ("x", 3.0)) == [
        TransmitStarted(at_s=1.0, onset_s=1.0),
        heard("station passage", 2.0),
        TransmitEnded(at_s=3.0, onset_s=3.0),
    ]


def test_without_a_transmit_key_every_key_is_the_tables() -> None:
    assert KeyPad(TABLE, transmit_key=None).press("x", 1.0) is None
