"""The decoders by the name of their form. Never anything else."""

from __future__ import annotations

from typing import Literal, Protocol

from coach.fixes.fix import Fix
from coach.fixes.gdl90 import Gdl90Decoder
from coach.fixes.nmea import NmeaDecoder
from coach.fixes.pacing import Gdl90Pacer, NmeaPacer, Pacer
from coach.fixes.sentences import LONGEST
from coach.fixes.tally import Rejected, Tally

Form = Literal["nmea", "gdl90"]


class Decoder(Protocol):
    """Takes bytes in any division and gives the same fixes and refusals."""

    tally: Tally

    def feed(self, data: bytes, at_s: float) -> tuple[Fix | Rejected, ...]:
        """Take bytes that arrived at `at_s` (session clock); return what they completed, in order."""

    def flush(self) -> tuple[Fix | Rejected, ...]:
        """The feed has paused: give what waits for more."""


def make_decoder(form: Form, *, longest: int = LONGEST) -> Decoder:
    """Return a new decoder; `longest` is for NMEA sentences."""
    return NmeaDecoder(longest=longest) if form == "nmea" else Gdl90Decoder()


def make_pacer(form: Form) -> Pacer:
    """Return a new pacer for a recording."""
    return NmeaPacer() if form == "nmea" else Gdl90Pacer()
