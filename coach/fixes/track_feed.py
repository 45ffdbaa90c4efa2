"""A recorded feed to a track: an NMEA 0183 log or a GDL 90 capture through the decoders of a live flight.

Never reads a sentence itself. Times are the fixes' own; where they have none (GDL 90 has whole seconds, from
the heartbeat) the fixes within one second are spread over it in their order.
"""

from __future__ import annotations

import numpy as np

from coach.errors import Problem, TrackError
from coach.fixes.decoder import Form as FeedForm
from coach.fixes.decoder import make_decoder, make_pacer
from coach.fixes.fix import Fix
from coach.fixes.tally import Tally
from coach.fixes.track import EPOCH, QUANTITIES, Form, Numbers, Track
from coach.fixes.track_cleaning import MAX_FIXES, clean_track

DAY_S = 86_400.0
HALF_DAY_S = 43_200.0
PIECE_BYTES = 65_536
LONGEST_SENTENCE = 400
"""Characters: a log is read as it was written, though some receivers write more than the standard's 80."""

MOST_SPREAD = 20
"""More fixes with the same whole second than this are doubled, not fast."""


def decode_feed(content: bytes, form: FeedForm, *, name: str) -> Track:
    """Return the track of a recorded feed; `name` is for errors. Raises `TrackError`."""
    decoder, pacer = make_decoder(form, longest=LONGEST_SENTENCE), make_pacer(form)
    fixes: list[Fix] = []
    pieces = (content[i : i + PIECE_BYTES] for i in range(0, len(content), PIECE_BYTES))
    timed = (piece for data in pieces for piece in pacer.cut(data))
    for at_s, data in (*timed, *pacer.finish()):
        fixes += (found for found in decoder.feed(data, at_s) if isinstance(found, Fix))
    fixes += (found for found in decoder.flush() if isinstance(found, Fix))
    if len(fixes) > MAX_FIXES:
        raise TrackError(Problem(where=name, expected=f"at most {MAX_FIXES} fixes", got="more"))
    return track_of(fixes, form, name=name, notes=_tell_refused(decoder.tally))


def track_of(fixes: list[Fix], form: Form, *, name: str, notes: tuple[str, ...] = ()) -> Track:
    """Return the track of decoded fixes in order of arrival. Raises `TrackError`."""
    posix_s, has_date = _times_of(fixes)
    given = {
        quantity: np.array([getattr(fix, quantity) for fix in fixes], dtype=np.float64)
        for quantity in QUANTITIES
        if any(getattr(fix, quantity) is not None for fix in fixes)
    }
    return clean_track(
        form,
        name=name,
        posix_s=posix_s,
        lat_deg=np.array([fix.lat_deg for fix in fixes], dtype=np.float64),
        lon_deg=np.array([fix.lon_deg for fix in fixes], dtype=np.float64),
        has_date=has_date,
        notes=notes,
        given=given,
    )


def _times_of(fixes: list[Fix]) -> tuple[Numbers, bool]:
    """Return the instants as seconds since 1970 or since a first midnight, and whether they have a date."""
    if any(fix.utc is not None for fix in fixes):
        return np.array([_posix_s(fix) for fix in fixes], dtype=np.float64), True
    of_day_s = np.array([fix.of_day_s for fix in fixes], dtype=np.float64)
    times_s = _unwrapped(of_day_s)
    return (_spread(times_s) if any(fix.source == "gdl90" for fix in fixes) else times_s), False


def _posix_s(fix: Fix) -> float:
    return float("nan") if fix.utc is None else (fix.utc - EPOCH).total_seconds()


def _unwrapped(of_day_s: Numbers) -> Numbers:
    """Times of day that go on after midnight."""
    steps = np.diff(of_day_s, prepend=of_day_s[:1])
    return of_day_s + DAY_S * np.cumsum(np.nan_to_num(steps) < -HALF_DAY_S)


def _spread(times_s: Numbers) -> Numbers:
    """Several fixes of one whole second, evenly over it."""
    spread_s = times_s.copy()
    begin = 0
    for end in [*(np.flatnonzero(np.diff(times_s) != 0.0) + 1).tolist(), len(times_s)]:
        many = end - begin
        if 1 < many <= MOST_SPREAD:
            spread_s[begin:end] += np.arange(many) / many
        begin = end
    return spread_s


def _tell_refused(tally: Tally) -> tuple[str, ...]:
    refused = sorted(tally.rejected.items(), key=lambda item: -item[1])
    return tuple(f"Refused {n} times, {reason}: {tally.examples[reason]}" for reason, n in refused[:5])
