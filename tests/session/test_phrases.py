"""A phrase table: its ways, and what is lost with words that cannot be heard."""

from __future__ import annotations

import pytest

from coach.session.phrases import Phrase, PhraseTable, render_unknown_words


def phrase(canonical: str, *ways: str, key: str | None = None) -> Phrase:
    return Phrase(canonical=canonical, ways=ways, key=key, means="")


TABLE = PhraseTable(
    language="ko",
    phrases=(
        phrase("next leg", "다음 구간", "다음 레그", key="space"),
        phrase("abeam", "어빔", key="b"),
        phrase("traffic", "Traffic now"),
        phrase("mute", key="m"),
    ),
)


def test_all_ways_are_those_of_every_phrase_in_table_order() -> None:
    assert TABLE.all_ways == (
        ("다음 구간", "next leg"),
        ("다음 레그", "next leg"),
        ("어빔", "abeam"),
        ("Traffic now", "traffic"),
    )


@pytest.mark.parametrize(
    ("unknown", "expected"),
    [
        ((), None),
        (("레그",), "The ear does not know 레그; every phrase can be said another way"),
        (("레그", "어빔"), "The ear does not know 레그, 어빔; by key only: abeam (b)"),
        (("다음", "traffic"), "The ear does not know 다음, traffic; by key only: next leg (space), traffic"),
    ],
    ids=["nothing", "a synonym", "a phrase", "without a key"],
)
def test_unknown_words_are_told_in_one_line_with_what_is_lost(
    unknown: tuple[str, ...], expected: str | None
) -> None:
    assert render_unknown_words(TABLE, unknown) == expected
