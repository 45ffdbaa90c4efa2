"""Streams of a flight with bytes changed, lost, doubled and put in, for the decoders."""

from __future__ import annotations

import pickle
import random
from collections.abc import Callable
from dataclasses import replace

from coach.fixes.gdl90 import Gdl90Decoder
from coach.fixes.gdl90_encoder import encode_gdl90
from coach.fixes.nmea import NmeaDecoder
from coach.fixes.nmea_encoder import encode_nmea
from tests.fixes.samples import START, flight

Decoder = NmeaDecoder | Gdl90Decoder

FULL = replace(
    START,
    heading_mag_deg=20.0,
    airspeed_kt=95.5,
    wind_angle_deg=45.0,
    wind_speed_kt=12.5,
    wind_reference="true",
    pressure_altitude_ft=3000.0,
    geo_altitude_ft=3100.0,
)
DECODERS: dict[str, tuple[Callable[[], Decoder], bytes]] = {
    "nmea": (NmeaDecoder, b"".join(map(encode_nmea, flight(4, start=FULL)))),
    "gdl90": (Gdl90Decoder, b"".join(map(encode_gdl90, flight(12, start=FULL)))),
}
"""Each decoder and a stream for it, about a kilobyte."""


def mutate(stream: bytes, chance: random.Random) -> bytes:
    """About one byte in a hundred changed, lost, doubled or new."""
    changed = bytearray()
    for byte in stream:
        lot = chance.random()
        if lot < 0.005:
            changed.append(chance.randrange(256))
        elif lot < 0.0075:
            changed += bytes((byte, byte))
        elif lot >= 0.01:
            changed.append(byte)
    return bytes(changed)


def held_bytes(decoder: Decoder) -> int:
    """The size of everything the decoder keeps, written out."""
    return len(pickle.dumps(decoder))
