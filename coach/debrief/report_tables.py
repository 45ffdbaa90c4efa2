"""The tables of the report: legs, the five Ts, every mark with its reason, what was said around a bookmark.

Never rounds a figure into its standard: what is outside is marked by a sign, not by a colour alone.
"""

from __future__ import annotations

from collections.abc import Iterator

from coach.debrief.model import Debrief, Held, LegFlown, Mark, TDone
from coach.debrief.report_grid import OUTSIDE, Cell, Grid
from coach.debrief.report_track_tables import lay_arcs, lay_passages, lay_radials, lay_turns
from coach.debrief.report_words import render_clock, render_plain, render_share, render_signed
from coach.drill.model import Leg

FIGURES = (
    ("turn begins", "turn begins"),
    ("turn rate", "turn rate"),
    ("roll-out", "roll-out"),
    ("leg time", "leg time"),
    ("intercept angle", "intercept"),
    ("lead", "lead"),
    ("overshoot", "overshoot"),
)
"""The marks of the leg table, and how their columns are headed."""

SIGNED = ("turn begins", "leg time", "leg time, finer", "roll-out")
"""Marks that can be early or late, left or right."""

HELD = ("needle", "heading", "arc", "altitude", "airspeed")


def lay_tables(debrief: Debrief) -> tuple[Grid, ...]:
    """Return every table that has a row."""
    grids = (
        _legs(debrief),
        _holds(debrief),
        _workflow(debrief),
        _consistency(debrief),
        _bookmarks(debrief),
        lay_passages(debrief),
        *(() if debrief.legs else (lay_radials(debrief), lay_turns(debrief))),
        lay_arcs(debrief),
        _marks(debrief),
    )
    return tuple(grid for grid in grids if grid.rows)


def name_leg(leg: Leg) -> str:
    """A leg by its number and its name."""
    return f"{leg.n} {leg.leg}"


def _round(leg: Leg) -> Cell:
    """Its spoke or lap; nothing where it has none."""
    return Cell(text=str(leg.spoke or leg.lap or ""))


def _legs(debrief: Debrief) -> Grid:
    marks = [pair for pair in FIGURES if any(_find(flown, pair[0]) for flown in debrief.legs)]
    units = {mark.what: mark.unit for flown in debrief.legs for mark in flown.marks}
    return Grid(
        name="legs",
        title="Legs: turns and times",
        columns=("leg", "round", "began", *(f"{head}, {units[what]}" for what, head in marks), "remark"),
        rows=tuple(tuple(_leg_row(debrief, flown, marks)) for flown in debrief.legs),
        told=f"Round: the spoke or lap. Times are UTC. {OUTSIDE} marks what is outside its standard.",
    )


def _leg_row(debrief: Debrief, flown: LegFlown, marks: list[tuple[str, str]]) -> Iterator[Cell]:
    yield Cell(text=name_leg(flown.leg))
    yield _round(flown.leg)
    yield Cell(text=render_clock(debrief, flown.begun_s))
    for what, _ in marks:
        mark = _find(flown, what)
        yield Cell(text="") if mark is None else _mark_cell(mark)
    yield Cell(text=flown.told or ("" if flown.how == "flown" else flown.how))


def _holds(debrief: Debrief) -> Grid:
    helds = [what for what in HELD if any(_find_held(flown, what) for flown in debrief.legs)]
    return Grid(
        name="held",
        title="Legs: what was held",
        columns=("leg", "round", *helds),
        rows=tuple(tuple(_held_row(flown, helds)) for flown in debrief.legs if flown.held),
        told=f"The share of the seconds within the standard, then the largest deviation. {OUTSIDE} marks "
        "what was not within it all the time.",
    )


def _held_row(flown: LegFlown, helds: list[str]) -> Iterator[Cell]:
    yield Cell(text=name_leg(flown.leg))
    yield _round(flown.leg)
    for what in helds:
        held = _find_held(flown, what)
        yield Cell(text="") if held is None else _held_cell(held)


def _find(flown: LegFlown, what: str) -> Mark | None:
    return next((mark for mark in flown.marks if mark.what == what), None)


def _find_held(flown: LegFlown, what: str) -> Held | None:
    return next((held for held in flown.held if held.what == what), None)


def _mark_cell(mark: Mark) -> Cell:
    is_outside = mark.is_within is False
    return Cell(text=f"{render_figure(mark)}{f' {OUTSIDE}' if is_outside else ''}", is_outside=is_outside)


def render_figure(mark: Mark) -> str:
    """A mark with its sign where it can be early or late, left or right."""
    return render_signed(mark.value) if mark.what in SIGNED else render_plain(mark.value)


def _held_cell(held: Held) -> Cell:
    is_outside = held.within_share < 1.0
    unit = held.standard.unit
    worst = render_signed(held.worst, 1 if unit in ("deg", "NM") else 0)
    sign = f" {OUTSIDE}" if is_outside else ""
    return Cell(text=f"{render_share(held.within_share)}, {worst} {unit}{sign}", is_outside=is_outside)


def _workflow(debrief: Debrief) -> Grid:
    ts = tuple(str(done.t) for done in debrief.workflow[0].ts) if debrief.workflow else ()
    rows = []
    for change in debrief.workflow:
        order = {None: "", True: "yes", False: f"no {OUTSIDE}"}[change.is_in_order]
        rows.append(
            (
                Cell(text=name_leg(change.leg)),
                _round(change.leg),
                Cell(text=render_clock(debrief, change.at_s)),
                *(Cell(text=_render_t(done)) for done in change.ts),
                Cell(text=order, is_outside=change.is_in_order is False),
            )
        )
    return Grid(
        name="workflow",
        title="The five Ts at each heading change",
        columns=("heading change", "round", "checkpoint", *ts, "in order"),
        rows=tuple(rows),
        told="How each is known, and the seconds after the checkpoint. By the coach: prompted, no sign of "
        "the pilot doing it. No sign: nothing shows it, though it may have been done. A dash: not needed.",
    )


def _render_t(done: TDone) -> str:
    at = "" if done.late_s is None else f" {render_signed(done.late_s)}"
    return {"not needed": "-", "said by the coach": "by the coach"}.get(done.by, done.by) + at


def _consistency(debrief: Debrief) -> Grid:
    rows = tuple(
        (
            Cell(text=one.what),
            Cell(text=f"{render_plain(one.mean)} {one.unit}"),
            Cell(text=f"{one.spread:.1f}"),
            Cell(text=" ".join(render_plain(value) for _, value in one.values)),
        )
        for one in debrief.consistency
    )
    return Grid(
        name="consistency",
        title="From spoke to spoke",
        columns=("figure", "mean", "spread", "each time, in the order flown"),
        rows=rows,
        told="Same order, same timing, every time: the spread (standard deviation) says more than the mean.",
    )


def _bookmarks(debrief: Debrief) -> Grid:
    rows = []
    for bookmark in debrief.bookmarks:
        said = tuple(f"{render_clock(debrief, at_s)} {text}" for at_s, text in bookmark.around)
        rows.append(
            (
                Cell(text=render_clock(debrief, bookmark.at_s)),
                Cell(text=bookmark.what),
                Cell(text="; ".join(said)),
            )
        )
    return Grid(
        name="bookmarks",
        title="Bookmarks",
        columns=("time", "what", "said around it"),
        rows=tuple(rows),
    )


def _marks(debrief: Debrief) -> Grid:
    rows = [row for flown in debrief.legs for row in _mark_rows(debrief, flown)]
    return Grid(
        name="marks",
        title="Every figure and what it was made of",
        columns=("leg", "what", "figure", "standard", "seconds", "reason"),
        rows=tuple(rows),
        is_long=True,
    )


def _mark_rows(debrief: Debrief, flown: LegFlown) -> Iterator[tuple[Cell, ...]]:
    name = name_leg(flown.leg)
    for mark in flown.marks:
        cell = _mark_cell(mark)
        figure = Cell(text=f"{render_figure(mark)} {mark.unit}{f' {OUTSIDE}' if cell.is_outside else ''}")
        yield _row(debrief, name, mark, figure)
    for held in flown.held:
        figure = Cell(
            text=f"{render_share(held.within_share)} of {held.seconds:.0f} s, rms {held.rms:.1f}, worst "
            f"{render_signed(held.worst)} {held.standard.unit} at {render_clock(debrief, held.worst_at_s)}",
            is_outside=held.within_share < 1.0,
        )
        yield _row(debrief, name, held, figure)


def _row(debrief: Debrief, name: str, one: Mark | Held, figure: Cell) -> tuple[Cell, ...]:
    standard = one.standard
    span = f"{render_clock(debrief, one.start_s)} to {render_clock(debrief, one.end_s)}"
    return (
        Cell(text=name),
        Cell(text=one.what),
        figure,
        Cell(text="" if standard is None else standard.text),
        Cell(text=span),
        Cell(text=one.reason),
    )
