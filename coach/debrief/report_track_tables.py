"""The tables of what a track shows by itself: passages, radials, turns, arcs. Never of a leg."""

from __future__ import annotations

from coach.debrief.model import Debrief
from coach.debrief.report_grid import Cell, Grid
from coach.debrief.report_words import render_clock


def lay_passages(debrief: Debrief) -> Grid:
    """Return when and how the station went by."""
    rows = tuple(
        (
            Cell(text=render_clock(debrief, passage.at_s)),
            Cell(text=f"{passage.distance_nm:.2f} NM"),
            Cell(text=_degrees(passage.inbound_radial_mag_deg)),
            Cell(text=_degrees(passage.outbound_radial_mag_deg)),
        )
        for passage in debrief.passages
    )
    return Grid(
        name="passages",
        title="Passages of the station",
        columns=("time", "beside", "came in on radial", "left on radial"),
        rows=rows,
        told="Radials: the mean bearing from the station between 1 and 3 NM.",
    )


def lay_radials(debrief: Debrief) -> Grid:
    """Return the radials flown in and out."""
    rows = tuple(
        (
            Cell(text=_degrees(radial.radial_mag_deg)),
            Cell(text=radial.direction),
            Cell(text=render_clock(debrief, radial.start_s)),
            Cell(text=render_clock(debrief, radial.end_s)),
            Cell(text=f"{radial.spread_deg:.2f}"),
            Cell(text=f"{radial.from_nm:.1f} to {radial.to_nm:.1f}"),
        )
        for radial in debrief.radials
    )
    columns = ("radial", "direction", "from", "until", "spread, deg", "NM")
    return Grid(name="radials", title="Radials flown", columns=columns, rows=rows)


def lay_turns(debrief: Debrief) -> Grid:
    """Return every turn."""
    rows = tuple(
        (
            Cell(text=render_clock(debrief, turn.start_s)),
            Cell(text=f"{'right' if turn.turn_deg > 0.0 else 'left'} {abs(turn.turn_deg):.0f}"),
            Cell(text=f"{turn.rate_deg_s:.1f}"),
            Cell(text=_degrees(turn.before_mag_deg)),
            Cell(text=_degrees(turn.after_mag_deg)),
            Cell(text=turn.by),
        )
        for turn in debrief.turns
    )
    columns = ("time", "degrees", "deg/s", "from", "to", "of the")
    told = "The rate of a track's turn is not the heading's."
    return Grid(name="turns", title="Turns", columns=columns, rows=rows, told=told)


def lay_arcs(debrief: Debrief) -> Grid:
    """Return the arcs flown around the station."""
    rows = tuple(
        (
            Cell(text=render_clock(debrief, arc.start_s)),
            Cell(text=render_clock(debrief, arc.end_s)),
            Cell(text=f"{arc.radius_nm:.2f}"),
            Cell(text=f"{arc.spread_nm:.2f}"),
            Cell(text=f"{arc.sweep_deg:.0f} {arc.direction}"),
        )
        for arc in debrief.arcs
    )
    columns = ("time", "until", "NM", "spread, NM", "degrees")
    return Grid(name="arcs", title="Arcs flown", columns=columns, rows=rows)


def _degrees(angle_deg: float | None) -> str:
    return "" if angle_deg is None else f"{angle_deg:05.1f}"
