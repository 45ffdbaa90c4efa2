"""The decoders by name."""

from coach.fixes.decoder import make_decoder
from coach.fixes.gdl90 import Gdl90Decoder
from coach.fixes.nmea import NmeaDecoder
from tests.fixes.samples import sentence


def test_each_form_has_its_decoder():
    assert isinstance(make_decoder("nmea"), NmeaDecoder)
    assert isinstance(make_decoder("gdl90"), Gdl90Decoder)


def test_longest_sentence_is_handed_on():
    decoder = make_decoder("nmea", longest=120)
    assert decoder.feed(sentence("GPTXT," + "x" * 90), 0.0) == ()
    assert decoder.tally.kinds == {"GPTXT": 1}
