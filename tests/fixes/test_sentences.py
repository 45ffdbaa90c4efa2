"""The cutter: any division of the bytes gives the same pieces, and it never holds more than a sentence."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from coach.fixes.sentences import CUT_OFF, NO_SENTENCE, SentenceCutter
from tests.fixes.samples import PUBLISHED_GGA, PUBLISHED_HDG, PUBLISHED_RMC, sentence

STREAM = b"".join(
    (
        b"half a line,W*12\r\n",
        PUBLISHED_GGA,
        b"\r\n",
        PUBLISHED_RMC,
        b"\n",
        b"# a remark\r\n\r\n",
        PUBLISHED_RMC[:30],
        PUBLISHED_HDG,
        b"rubbish behind it\r\n",
        b"$" + b"x" * 200 + b"*00\r\n",
        b"!AIVDM,1,1*00",
        b"\xff\xfe\x00\r\n",
        PUBLISHED_GGA,
    )
)


def cut(*parts: bytes, longest: int = 80) -> list:
    cutter = SentenceCutter(longest)
    return [piece for part in parts for piece in cutter.cut(part)]


def reasons(pieces: list) -> list:
    return [reason or piece for piece, reason in pieces]


WHOLE = reasons(cut(STREAM))


def test_stream_is_cut_into_sentences_and_refusals():
    assert WHOLE == [
        NO_SENTENCE,
        PUBLISHED_GGA,
        PUBLISHED_RMC,
        NO_SENTENCE,
        CUT_OFF,
        PUBLISHED_HDG,
        NO_SENTENCE,
        "longer than 80 characters",
        b"!AIVDM,1,1*00",
        NO_SENTENCE,
        PUBLISHED_GGA,
    ]


def test_every_position_of_a_split_gives_the_same_pieces():
    for position in range(len(STREAM) + 1):
        assert reasons(cut(STREAM[:position], STREAM[position:])) == WHOLE


def test_byte_by_byte_gives_the_same_pieces():
    assert reasons(cut(*(STREAM[n : n + 1] for n in range(len(STREAM))))) == WHOLE


@given(st.binary(max_size=300) | st.text("$!*\r\n,A0 ", max_size=300).map(str.encode), st.data())
def test_any_bytes_in_any_division_give_the_same_pieces(stream: bytes, data: st.DataObject):
    places = sorted(data.draw(st.lists(st.integers(0, len(stream)), max_size=6)))
    bounds = [0, *places, len(stream)]
    parts = [stream[start:end] for start, end in pairwise(bounds)]
    assert reasons(cut(*parts)) == reasons(cut(stream))


def test_sentence_is_whole_before_its_line_end():
    assert reasons(cut(PUBLISHED_GGA)) == [PUBLISHED_GGA]


def test_eighty_characters_pass_and_eighty_one_do_not():
    """N1: 80 besides `$` and the line end."""
    for length, is_whole in ((80, True), (81, False)):
        text = sentence("GPTXT," + "x" * (length - 9))
        assert len(text) - 1 == length
        assert reasons(cut(text)) == [text if is_whole else "longer than 80 characters"]


def test_a_receiver_may_be_allowed_longer_sentences():
    text = sentence("GPTXT," + "x" * 100)
    assert reasons(cut(text, longest=120)) == [text]


def test_endless_line_without_a_start_is_refused_once_and_not_kept():
    cutter = SentenceCutter()
    found = [piece for _ in range(1000) for piece in cutter.cut(b"x" * 1000)]
    assert reasons(found) == [NO_SENTENCE]
    assert reasons(cutter.cut(b"\n" + PUBLISHED_HDG)) == [PUBLISHED_HDG]


def test_endless_sentence_is_refused_once_and_not_kept():
    cutter = SentenceCutter()
    found = [piece for part in [b"$GP"] + [b"x" * 10] * 1000 for piece in cutter.cut(part)]
    assert reasons(found) == ["longer than 80 characters"]
    assert reasons(cutter.cut(PUBLISHED_HDG)) == [PUBLISHED_HDG]


def test_blank_lines_are_nothing():
    assert cut(b"\r\n \r\n\0\0\r\n") == []
