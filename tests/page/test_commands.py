"""What the page may ask for: one line for anything else, and the same press never twice."""

from __future__ import annotations

import json
from typing import Any

import pytest

from coach.page.commands import BOOKMARKS, LONGEST_NOTE, PHRASES, Command, Seen, event_of, parse_command
from coach.session.events import BookmarkMade, NoteMade, PhraseHeard
from coach.session.grammar import ALWAYS, DISREGARD, PASSAGE, REJOIN, RESUME
from coach.session.surprised import ASKED_FOR
from coach.store.phrases import read_phrases


def body(**changed: Any) -> bytes:
    return json.dumps({"number": "a1", "do": "bookmark", "what": "late", "age_s": 0.5} | changed).encode()


def test_a_bookmark_is_dated_when_it_was_pressed():
    event = event_of(parse_command(body()), 61.0)
    assert event == BookmarkMade(at_s=61.0, onset_s=60.5, what="late")


def test_a_note_is_one_line_dated_when_it_was_begun():
    event = event_of(parse_command(body(do="note", what="  drifted\nleft\x00 ", age_s=20)), 61.0)
    assert event == NoteMade(at_s=61.0, onset_s=41.0, text="drifted left")


def test_a_phrase_is_the_pages():
    event = event_of(parse_command(body(do="phrase", what="stand by")), 61.0)
    assert event == PhraseHeard(at_s=61.0, onset_s=60.5, phrase="stand by", by="page")


def test_nothing_is_dated_before_the_session():
    assert event_of(parse_command(body(age_s=5)), 1.0).onset_s == 0.0


def test_the_pages_phrases_are_the_sessions():
    assert set(PHRASES) <= {*ALWAYS, RESUME, DISREGARD, REJOIN, ASKED_FOR}
    assert set(PHRASES) - {ASKED_FOR} <= {phrase.canonical for phrase in read_phrases().phrases}


BROKEN = {
    "no JSON": (b"late", "expected a JSON object"),
    "nested without end": (b"[" * 4000, "expected a JSON object"),
    "no object": (b"[]", "expected number, do, what and age_s"),
    "a key more": (body(token="x"), "expected number, do, what and age_s"),
    "no number": (body(number=""), "number: expected 1-40 characters"),
    "a long number": (body(number="1" * 41), "number: expected 1-40 characters"),
    "unknown deed": (body(do="land"), "do: expected phrase, bookmark or note"),
    "a deed that is no text": (body(do=["note"]), "do: expected phrase, bookmark or note"),
    "unknown bookmark": (body(what="early"), f"what: expected one of {', '.join(BOOKMARKS)}"),
    "the pilot's own word": (body(do="phrase", what=PASSAGE), f"what: expected one of {', '.join(PHRASES)}"),
    "no text": (body(what=7), "what: expected a text"),
    "an empty note": (body(do="note", what=" \n"), "what: expected a note of 1-500 characters"),
    "a long note": (
        body(do="note", what="a" * (LONGEST_NOTE + 1)),
        "what: expected a note of 1-500 characters",
    ),
    "an age that is truth": (body(age_s=True), "age_s: expected 0-600"),
    "an age that is no number": (body(age_s=None), "age_s: expected 0-600"),
    "not a number": (body(age_s=float("nan")), "age_s: expected 0-600"),
    "from the future": (body(age_s=-1), "age_s: expected 0-600"),
    "too old": (body(age_s=601), "age_s: expected 0-600"),
    "a phrase of another moment": (body(do="phrase", what="rejoin", age_s=6), "age_s: too late for a phrase"),
}


@pytest.mark.parametrize(("sent", "why"), BROKEN.values(), ids=BROKEN.keys())
def test_what_is_no_command_is_refused_in_one_line(sent: bytes, why: str):
    with pytest.raises(ValueError, match=r"^\S") as refusal:
        parse_command(sent)
    assert str(refusal.value) == why


def test_a_command_sent_again_counts_once():
    seen, command = Seen(), parse_command(body())
    assert [seen.is_new(command), seen.is_new(command)] == [True, False]
    assert seen.is_new(Command(number="b", do="bookmark", what="late", age_s=0.0))
