"""How figures, shares and moments are written in the report and the history.

Never rounds a share to all or nothing, and never writes minus nothing.
"""

from __future__ import annotations

from coach.debrief.model import Debrief

UNITS = {"deg": "degrees", "deg/s": "degrees a second"}
"""How a unit is written in a sentence; the others as they are."""


def render_share(share: float) -> str:
    """A share as percent that never says 100 or 0 where something is missing from it."""
    percent = round(100.0 * share)
    if percent == 100 and share < 1.0:
        return "99 %"
    return "1 %" if percent == 0 and share > 0.0 else f"{percent} %"


def render_plain(value: float) -> str:
    """One decimal, never `-0.0`."""
    text = f"{value:.1f}"
    return text if float(text) else "0.0"


def render_signed(value: float, decimals: int = 1) -> str:
    """With its sign, but nothing is neither plus nor minus."""
    text = f"{value:+.{decimals}f}"
    return text if float(text) else text[1:]


def render_clock(debrief: Debrief, at_s: float | None) -> str:
    """The time of day of a moment, to the second; nothing for None."""
    if at_s is None:
        return ""
    return debrief.render_utc(at_s + 0.45).rpartition("T")[2].partition(".")[0]
