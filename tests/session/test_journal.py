"""Journal lines: every event and action comes back exactly, and nothing broken is read as whole."""

from contextlib import suppress
from datetime import UTC, datetime
from typing import get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import JournalError
from coach.session.actions import ACTIONS, Listen, Record, Say, Show, Sound, Tone
from coach.session.events import EVENTS, PhraseHeard, PromptFinished, SessionStarted, Woken
from coach.session.journal import (
    MARKS,
    MAX_LINE_CHARACTERS,
    MAX_PROBLEMS,
    Closed,
    Header,
    Journal,
    Late,
    Line,
    decode_line,
    encode_line,
    parse_journal,
    split_lines,
)
from coach.session.machine import Session
from tests.session.dialogue import TABLE, Dialogue, eight_spoke

HEADER = Header(
    version=1,
    drill="eight-spoke",
    drill_settings=(("first_outbound", "240"), ("spokes", "8")),
    began_utc=datetime(2031, 5, 4, 9, 29, 10, 250_000, tzinfo=UTC),
    coach_version="0.1.0",
    session_settings=(("talk", "short"),),
)
STARTED = SessionStarted(at_s=0.25, onset_s=0.25)
PASSAGE = PhraseHeard(at_s=12.5, onset_s=11.9, phrase="station passage", by="voice", score=-3.75)
SAY = Say(
    prompt=1, text="Left, one niner five", due_s=71.9, stale_s=74.4, is_time_call=True
)  # fmt: skip
LISTEN = Listen(phrases=("needle alive", "say again"))
LINES = tuple(map(encode_line, (HEADER, STARTED, PASSAGE, SAY, LISTEN, Late(event_n=2), Closed())))
CONTENT = "".join(line + "\n" for line in LINES).encode()


# Instants are aware everywhere in a journal; UTC has no fold.
INSTANTS = st.datetimes(timezones=st.just(UTC)).map(lambda instant: instant.replace(fold=0))
st.register_type_strategy(datetime, INSTANTS)


def strategy_of(cls: type[Line]) -> st.SearchStrategy[Line]:
    """Any value of the class: every number, infinities, any text."""
    return st.builds(cls, **{name: st.from_type(hint) for name, hint in get_type_hints(cls).items()})


@pytest.mark.parametrize("cls", [*EVENTS, *ACTIONS, *MARKS], ids=lambda cls: cls.__name__)
def test_every_event_action_and_mark_comes_back_exactly(cls: type[Line]) -> None:
    @given(strategy_of(cls))
    def comes_back(line: Line) -> None:
        text = encode_line(line)
        # repr, since not-a-number equals nothing and 0.0 equals -0.0.
        assert repr(decode_line(text)) == repr(line)
        assert text.isascii()
        assert "\n" not in text

    comes_back()


@given(st.builds(Header, version=st.just(1), began_utc=st.datetimes(timezones=st.just(UTC))))
def test_every_header_comes_back_exactly(header: Header) -> None:
    assert decode_line(encode_line(header)) == header


@given(st.floats(allow_nan=False))
def test_a_time_comes_back_to_the_last_bit(at_s: float) -> None:
    assert decode_line(encode_line(Woken(at_s=at_s, onset_s=at_s))).at_s.hex() == at_s.hex()


def test_no_two_classes_share_a_name() -> None:
    classes = (Header, *EVENTS, *ACTIONS, *MARKS)
    assert len({cls.__name__ for cls in classes}) == len(classes)


def test_a_line_reads_as_what_happened() -> None:
    assert encode_line(PASSAGE) == (
        '{"line":"PhraseHeard","at_s":12.5,"onset_s":11.9,'
        '"phrase":"station passage","by":"voice","score":-3.75}'
    )


def test_a_field_with_a_default_may_be_missing() -> None:
    text = '{"line":"PromptFinished","at_s":1,"onset_s":1,"prompt":2}'
    assert decode_line(text) == PromptFinished(at_s=1.0, onset_s=1.0, prompt=2)


def test_an_enumeration_comes_back_as_its_member() -> None:
    assert decode_line(encode_line(Sound(tone=Tone.LOW))).tone is Tone.LOW


BROKEN_LINES = {
    "no JSON": ("passage", "x:4: expected a line of a journal, got 'passage'"),
    "no object": ("[1]", "x:4: expected a line of a journal, got '[1]'"),
    "an empty line": ("", "x:4: expected a line of a journal, got ''"),
    "no class": ('{"at_s":1}', "x:4: expected a line of a journal, got '{\"at_s\":1}'"),
    "class no text": ('{"line":[]}', "x:4: expected a line of a journal, got '{\"line\":[]}'"),
    "unknown class": ('{"line":"Wokan"}', "x:4: expected a known line such as 'Woken', got 'Wokan'"),
    "unknown class, none near": ('{"line":"Zzz"}', "x:4: expected a known line, got 'Zzz'"),
    "unknown field": (
        '{"line":"Woken","at_s":1.0,"onset_s":1.0,"onset":1.0}',
        "x:4: Woken: expected a field such as 'onset_s', got 'onset'",
    ),
    "missing field": ('{"line":"Woken","at_s":1.0}', "x:4: Woken: expected the field 'onset_s', got none"),
    "a text for a number": (
        '{"line":"Woken","at_s":"1.0","onset_s":1.0}',
        "x:4: Woken.at_s: expected a number, got '1.0'",
    ),
    "truth for a number": (
        '{"line":"PromptStarted","at_s":1.0,"onset_s":1.0,"prompt":true}',
        "x:4: PromptStarted.prompt: expected a whole number, got True",
    ),
    "a huge number": (
        '{"line":"Woken","at_s":1' + "0" * 400 + ',"onset_s":1.0}',
        "x:4: Woken.at_s: expected a number, got 1" + "0" * 55 + " …1",
    ),
    "no such choice": (
        '{"line":"PhraseHeard","at_s":1.0,"onset_s":1.0,"phrase":"passage","by":"thought"}',
        "x:4: PhraseHeard.by: expected one of voice, key, page, got 'thought'",
    ),
    "no such tone": (
        '{"line":"Sound","tone":"ident"}',
        "x:4: Sound.tone: expected one of cue, heard, low, got 'ident'",
    ),
    "a text for a list": (
        '{"line":"Listen","phrases":"passage"}',
        "x:4: Listen.phrases: expected a list, got 'passage'",
    ),
    "a number in a list of texts": (
        '{"line":"Listen","phrases":["passage",1]}',
        "x:4: Listen.phrases: expected a text, got 1",
    ),
    "a key twice": (
        '{"line":"Closed","line":"Closed"}',
        'x:4: expected a line of a journal, got \'{"line":"Closed","line":"Closed"}\'',
    ),
    "no JSON constant": (
        '{"line":"Late","event_n":NaN}',
        'x:4: expected a line of a journal, got \'{"line":"Late","event_n":NaN}\'',
    ),
    "nested without end": ("[" * 60_000, "x:4: expected a line of a journal, got '" + "[" * 55 + " …'"),
    "too long": ("[" * (MAX_LINE_CHARACTERS + 1), "x:4: expected at most 65536 characters, got 65537"),
    "another version": (
        encode_line(HEADER).replace('"version":1', '"version":2'),
        "x:4: expected a journal of version 1, got version 2",
    ),
    "a version that is no number": (
        encode_line(HEADER).replace('"version":1', '"version":true'),
        "x:4: expected a journal of version 1, got version True",
    ),
    "settings no pairs": (
        encode_line(HEADER).replace('["spokes","8"]', '["spokes"]'),
        "x:4: Header.drill_settings: expected 2 values, got 1",
    ),
    "a time without its zone": (
        encode_line(HEADER).replace("+00:00", ""),
        "x:4: Header.began_utc: expected an instant with its offset from UTC, got "
        "'2031-05-04T09:29:10.250000'",
    ),
    "no time": (
        encode_line(HEADER).replace("2031-05", "yesterday"),
        "x:4: Header.began_utc: expected an instant with its offset from UTC, got "
        "'yesterday-04T09:29:10.250000+00:00'",
    ),
}


@pytest.mark.parametrize(("text", "message"), BROKEN_LINES.values(), ids=BROKEN_LINES.keys())
def test_a_broken_line_is_refused_in_one_clear_line(text: str, message: str) -> None:
    with pytest.raises(JournalError) as caught:
        decode_line(text, where="x:4")
    assert str(caught.value) == message


@given(st.text() | st.recursive(st.none() | st.integers() | st.text(), st.lists).map(repr))
def test_no_text_does_worse_than_a_journal_error(text: str) -> None:
    with pytest.raises(JournalError):
        decode_line(text)


@given(st.integers(1, len(CONTENT) - 1), st.integers(0, 255))
def test_no_changed_byte_does_worse_than_a_journal_error(position: int, byte: int) -> None:
    lines, _ = split_lines(CONTENT[:position] + bytes([byte]) + CONTENT[position + 1 :])
    with suppress(JournalError):
        assert len(parse_journal(lines).steps) <= 2


def test_a_journal_is_its_steps_in_order() -> None:
    assert parse_journal(LINES) == Journal(
        header=HEADER, steps=((STARTED, ()), (PASSAGE, (SAY, LISTEN))), late=(2,), is_closed=True
    )


def test_a_journal_without_its_closing_mark_was_broken_off() -> None:
    assert not parse_journal(LINES[:-1]).is_closed
    assert not parse_journal((*LINES, encode_line(STARTED))).is_closed
    assert not parse_journal(LINES[:1]).is_closed


BROKEN_JOURNALS: dict[str, tuple[tuple[str, ...], str]] = {
    "empty": ((), "x:1: expected the header of a journal, got ''"),
    "no header": (LINES[1:], f"x:1: expected the header of a journal, got {LINES[1]!r}"),
    "two headers": ((LINES[0], LINES[0]), "x:2: expected an event, an action or a mark, got Header"),
    "an action before any event": (
        (LINES[0], LINES[3]),
        "x:2: expected an event, an action or a mark, got Say",
    ),
    "two broken lines": (
        (LINES[0], "?", LINES[1], "!"),
        "x:2: expected a line of a journal, got '?'\nx:4: expected a line of a journal, got '!'",
    ),
}


@pytest.mark.parametrize(("lines", "message"), BROKEN_JOURNALS.values(), ids=BROKEN_JOURNALS.keys())
def test_a_broken_journal_names_each_line(lines: tuple[str, ...], message: str) -> None:
    with pytest.raises(JournalError) as caught:
        parse_journal(lines, name="x")
    assert str(caught.value) == message


def test_a_file_of_broken_lines_is_told_in_few_lines() -> None:
    with pytest.raises(JournalError) as caught:
        parse_journal((LINES[0], *["?"] * 10_000))
    assert len(caught.value.problems) == MAX_PROBLEMS


@pytest.mark.parametrize("cut", range(len(LINES[0]) + 1, len(CONTENT)))
def test_a_journal_torn_anywhere_keeps_every_whole_line(cut: int) -> None:
    torn = CONTENT[:cut]
    lines, torn_bytes = split_lines(torn)
    kept = "".join(line + "\n" for line in lines).encode()
    assert lines == LINES[: len(lines)]
    assert torn.removesuffix(b"\n")[: len(kept) - 1] == kept[:-1]
    assert torn_bytes == max(0, len(torn) - len(kept))


def test_zeros_after_a_power_loss_are_a_torn_line() -> None:
    assert split_lines(CONTENT + bytes(512)) == (LINES, 512)
    assert split_lines(CONTENT + bytes(512) + b"\n") == (LINES, 513)


def test_a_whole_line_that_lacks_only_its_end_is_kept() -> None:
    assert split_lines(CONTENT.removesuffix(b"\n")) == (LINES, 0)


def test_nothing_has_no_lines() -> None:
    assert split_lines(b"") == ((), 0)


def test_bytes_that_are_not_ascii_are_a_broken_line_where_they_stand() -> None:
    lines, _ = split_lines(CONTENT.replace(b"station", b"stati\xf3n"))
    with pytest.raises(JournalError, match=r"journal:3: expected a line of a journal"):
        parse_journal(lines)


def test_a_bookmark_and_a_screen_state_are_kept() -> None:
    show = Show(
        state="flying", leg_n=1, spoke=1, leg="outbound", heading_mag_deg=240, course_mag_deg=240,
        timer_from_s=11.9, ends_at_s=71.9, coming="Left, one niner five", note="",
    )  # fmt: skip
    record = Record(what="bookmark", onset_s=30.0)
    lines = (*LINES[:2], encode_line(show), encode_line(record))
    assert parse_journal(lines).steps == ((STARTED, (show, record)),)


def flown() -> Dialogue:
    """A first spoke with a word misheard, one too early, a leg undone and one interrupted."""
    dialogue = Dialogue(eight_spoke()).wait_until(50.4)
    dialogue.hear("station passage", onset_s=50.0)
    dialogue.wait_until(60.0).hear("next leg")
    dialogue.wait_until(112.123456789).mishear()
    dialogue.hear("disregard")
    dialogue.wait_until(130.0).hear("traffic")
    dialogue.wait_until(150.0).hear("resume drill", by="key")
    dialogue.wait_until(215.0).hear("needle alive")
    return dialogue.wait_until(400.0)


def test_a_flight_read_again_replays_to_the_same_actions() -> None:
    dialogue = flown()
    lines = [encode_line(HEADER)]
    for event, actions in dialogue.all:
        lines += [encode_line(event), *map(encode_line, actions)]
    journal = parse_journal(lines)
    session = Session(eight_spoke(), TABLE)
    assert journal.steps == tuple(dialogue.all)
    assert [(event, session.handle(event)) for event, _ in journal.steps] == dialogue.all
    assert sum(len(actions) for _, actions in journal.steps) > 20
