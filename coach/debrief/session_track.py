"""The track that a session's own feed left in its journal, on the session's clock.

Never laid beside the journal by guessing: both have one clock.
"""

from __future__ import annotations

import numpy as np

from coach.errors import TrackError
from coach.fixes.fix import Fix
from coach.fixes.track import QUANTITIES, Track
from coach.fixes.track_cleaning import clean_track
from coach.session.events import FixReceived
from coach.session.journal import Journal
from coach.session.motion import FixClock

FEWEST = 10
"""A feed that gave fewer fixes is no track."""


def find_session_track(journal: Journal, *, name: str) -> Track | None:
    """Return the journal's own track; None where it had no feed. Its clock is the journal's UTC."""
    fixes = [event.fix for event, _ in journal.steps if isinstance(event, FixReceived)]
    if len(fixes) < FEWEST:
        return None
    clock = FixClock()
    began_s = journal.header.began_utc.timestamp()
    try:
        return clean_track(
            "session",
            name=name,
            posix_s=np.array([began_s + clock.date(fix) for fix in fixes]),
            lat_deg=np.array([fix.lat_deg for fix in fixes]),
            lon_deg=np.array([fix.lon_deg for fix in fixes]),
            given={quantity: _column(fixes, quantity) for quantity in QUANTITIES},
        )
    except TrackError:
        return None


def _column(fixes: list[Fix], quantity: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([getattr(fix, quantity) for fix in fixes], dtype=np.float64)
