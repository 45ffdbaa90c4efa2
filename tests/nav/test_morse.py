"""Morse code of idents: the published table, and back again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.nav.morse import decode_morse, encode_morse

ALPHANUMERICS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"


@given(st.text(ALPHANUMERICS))
def test_what_is_encoded_is_decoded_as_itself(ident: str) -> None:
    # T-3: round trip.
    assert decode_morse(encode_morse(ident)) == ident


@pytest.mark.parametrize(
    ("ident", "code"),
    [
        # AIM 4-2-7, the table beside the spelling alphabet (T-3); the rows here from memory.
        ("sos", "... --- ..."),
        ("ET", ". -"),
        ("QXZ", "--.- -..- --.."),
        ("059", "----- ..... ----."),
    ],
)
def test_the_code_is_the_published_one(ident: str, code: str) -> None:
    assert encode_morse(ident) == code


def test_digits_count_their_dots() -> None:
    # A property of the published table: 1 to 5 begin with as many dots, 6 to 9 with dashes, five in all.
    for digit in range(1, 6):
        assert encode_morse(str(digit)) == "." * digit + "-" * (5 - digit)
    for digit in range(6, 10):
        assert encode_morse(str(digit)) == "-" * (digit - 5) + "." * (10 - digit)


def test_no_two_characters_share_a_code() -> None:
    assert len({encode_morse(character) for character in ALPHANUMERICS}) == 36


def test_what_has_no_code_is_refused() -> None:
    with pytest.raises(ValueError, match="'Ä' is neither letter nor digit"):
        encode_morse("BÄ")


@pytest.mark.parametrize("code", ["......", ".- ......", "x"])
def test_a_code_that_stands_for_nothing_is_none(code: str) -> None:
    assert decode_morse(code) is None
