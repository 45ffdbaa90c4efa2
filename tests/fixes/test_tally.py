"""Counting without growing."""

from coach.fixes.tally import MAX_KINDS, MAX_TEXT_CHARACTERS, OTHER_KINDS, Tally


def test_kinds_beyond_the_first_are_counted_together():
    tally = Tally()
    for n in range(MAX_KINDS + 10):
        tally.count(f"K{n}")
    tally.count("K3")
    assert len(tally.kinds) == MAX_KINDS + 1
    assert (tally.kinds["K3"], tally.kinds[OTHER_KINDS]) == (2, 10)


def test_refused_bytes_are_shown_as_printable_text_of_bounded_length():
    tally = Tally()
    rejected = tally.reject("checksum", b"$GP\x1b[2J\xff\\" + b"x" * 1000, 2.5)
    assert rejected.text.startswith("$GP\\x1b[2J\\xff\\\\xx")
    assert rejected.text.isprintable()
    assert len(rejected.text) == MAX_TEXT_CHARACTERS
    assert (rejected.at_s, tally.rejected) == (2.5, {"checksum": 1})
    assert tally.examples == {"checksum": rejected.text}
