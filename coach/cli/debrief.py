"""`coach debrief`: what was flown, from a session's journal, a file of positions, or both."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from coach.cli.debrief_session import FoundSession, find_session
from coach.cli.output import bullets, line, print_json, table
from coach.cli.planning import find_station
from coach.debrief.encoding import encode_debrief
from coach.debrief.figures_csv import encode_csv
from coach.debrief.history import summarise
from coach.debrief.make import debrief_session, debrief_track
from coach.debrief.model import Debrief, Held, Mark, TDone
from coach.debrief.report import make_report
from coach.debrief.session_track import find_session_track
from coach.errors import Problem, SettingsError
from coach.paper.report import check_folder, check_report_path, write_report, write_whole
from coach.store.database import database_path
from coach.store.history import keep_session
from coach.store.tracks import read_track

CAUTION = (
    "A training aid: the figures are as good as the track. Your instructor and the rules in force come first."
)
Rows = Iterator[tuple[str, ...]]


def run(options: argparse.Namespace) -> int:
    """Debrief a flight."""
    report, rows = check_files(options)
    debrief, found = find_debrief(options)
    if report is not None:
        write_report(make_report(debrief), report)
    if rows is not None:
        write_whole("--csv", rows, lambda part: part.write_text(encode_csv(debrief), "utf-8", newline=""))
    if options.json:
        print_json(encode_debrief(debrief))
    else:
        show(debrief)
    keep(debrief, found, options)
    return 0


def keep(debrief: Debrief, found: FoundSession | None, options: argparse.Namespace) -> None:
    """Keep a flown session's figures in the history, a rehearsed one's where that is asked for."""
    if found is None:
        if options.keep:
            raise SettingsError(Problem(where="--keep", expected="a session to keep", got="a track alone"))
        return
    is_kept = not found.is_rehearsed if options.keep is None else options.keep
    figures = summarise(debrief, session=found.path.stem, is_rehearsed=found.is_rehearsed)
    if not is_kept or not figures.skills:
        return
    keep_session(database_path(), figures)
    if not options.json:
        line(f"Kept in the history on this machine as {found.path.stem}: see `coach history`.")


def check_files(options: argparse.Namespace) -> tuple[Path | None, Path | None]:
    """Where the report and the rows go; refused before anything is worked out. Raises `SettingsError`."""
    report, rows = (None if text is None else Path(text) for text in (options.report, options.csv))
    if report is not None:
        check_report_path(report)
    if rows is not None:
        check_folder("--csv", rows)
    return report, rows


def make_debrief(options: argparse.Namespace) -> Debrief:
    """The debrief that the options ask for. Raises `CoachError`."""
    return find_debrief(options)[0]


def find_debrief(options: argparse.Namespace) -> tuple[Debrief, FoundSession | None]:
    """The debrief that the options ask for, and its session; None: a track alone. Raises `CoachError`."""
    station = find_station(options)
    if options.session is None and options.track is not None:
        if station is None:
            expected = "LAT,LON,DECLINATION or an ident, to see the track from"
            raise SettingsError(Problem(where="--station", expected=expected, got="none"))
        return debrief_track(read_track(Path(options.track)), station), None
    found = find_session(options)
    track = (
        find_session_track(found.flown.journal, name=str(found.path))
        if options.track is None
        else read_track(Path(options.track))
    )
    return debrief_session(found.flown, track, station or found.station), found


def show(debrief: Debrief) -> None:
    """A summary for people."""
    line(_title(debrief))
    for columns, rows in _tables(debrief):
        found = list(rows)
        if found:
            line()
            table(columns, found)
    line()
    bullets("Standards", dict.fromkeys(_standards(debrief)))
    bullets("Bookmarks", (f"{_clock(debrief, mark.at_s)}  {mark.what}" for mark in debrief.bookmarks))
    bullets("Notes", debrief.notes)
    line(CAUTION)


def _title(debrief: Debrief) -> str:
    name = "A track" if debrief.plan is None else debrief.plan.drill.title
    began = debrief.render_utc(0.0)
    if debrief.flight is None:
        return f"{name}, {began}, no track"
    minutes = float(debrief.flight.time_s[-1]) / 60.0
    return f"{name}, {began}, {minutes:.0f} minutes, {len(debrief.flight.track)} fixes"


def _tables(debrief: Debrief) -> Iterator[tuple[tuple[str, ...], Rows]]:
    yield ("passage", "beside", "inbound on", "outbound on"), _passages(debrief)
    if not debrief.legs:
        yield ("radial", "", "from", "until", "spread", "NM"), _radials(debrief)
        yield ("turn", "degrees", "deg/s", "from", "to", "of the"), _turns(debrief)
    yield ("arc", "until", "NM", "spread", "degrees"), _arcs(debrief)
    yield ("leg", "", "what", "figure", "within"), _legs(debrief)
    if debrief.workflow:
        ts = (str(done.t) for done in debrief.workflow[0].ts)
        yield ("checkpoint", "leg", *ts, "in order"), _workflow(debrief)
    yield ("from spoke to spoke", "mean", "spread", "n"), _consistency(debrief)


def _passages(debrief: Debrief) -> Rows:
    for passage in debrief.passages:
        yield (
            _clock(debrief, passage.at_s),
            f"{passage.distance_nm:.2f} NM",
            _degrees(passage.inbound_radial_mag_deg),
            _degrees(passage.outbound_radial_mag_deg),
        )


def _radials(debrief: Debrief) -> Rows:
    for radial in debrief.radials:
        yield (
            _degrees(radial.radial_mag_deg),
            radial.direction,
            _clock(debrief, radial.start_s),
            _clock(debrief, radial.end_s),
            f"{radial.spread_deg:.2f}",
            f"{radial.from_nm:.1f} to {radial.to_nm:.1f}",
        )


def _turns(debrief: Debrief) -> Rows:
    for turn in debrief.turns:
        side = "right" if turn.turn_deg > 0.0 else "left"
        yield (
            _clock(debrief, turn.start_s),
            f"{side} {abs(turn.turn_deg):.0f}",
            f"{turn.rate_deg_s:.1f}",
            _degrees(turn.before_mag_deg),
            _degrees(turn.after_mag_deg),
            turn.by,
        )


def _arcs(debrief: Debrief) -> Rows:
    for arc in debrief.arcs:
        yield (
            _clock(debrief, arc.start_s),
            _clock(debrief, arc.end_s),
            f"{arc.radius_nm:.2f}",
            f"{arc.spread_nm:.2f}",
            f"{arc.sweep_deg:.0f} {arc.direction}",
        )


def _legs(debrief: Debrief) -> Rows:
    for flown in debrief.legs:
        name = f"{flown.leg.spoke} {flown.leg.leg}" if flown.leg.spoke else flown.leg.leg
        if flown.how != "flown":
            yield str(flown.leg.n), name, flown.how, "", ""
        for mark in flown.marks:
            yield str(flown.leg.n), name, mark.what, _figure(mark), _within(mark.is_within)
        for held in flown.held:
            yield (
                str(flown.leg.n),
                name,
                held.what,
                _held(held),
                f"{held.within_share:.0%} of {held.seconds:.0f} s",
            )


def _figure(mark: Mark) -> str:
    sign = "+" if mark.value > 0.0 and mark.unit == "s" else ""
    return f"{sign}{mark.value:.1f} {mark.unit}"


def _within(is_within: bool | None) -> str:
    return "" if is_within is None else "yes" if is_within else "NO"


def _held(held: Held) -> str:
    return f"worst {held.worst:+.1f}, rms {held.rms:.1f} {held.standard.unit}"


def _standards(debrief: Debrief) -> Iterator[str]:
    """What each figure is held against, and who asks for it."""
    marks: Iterator[Mark | Held] = (mark for leg in debrief.legs for mark in leg.marks)
    held = (held for leg in debrief.legs for held in leg.held)
    for one in (*marks, *held):
        if one.standard is not None:
            yield f"{one.what}: {one.standard.text} ({one.standard.source})"


def _workflow(debrief: Debrief) -> Rows:
    """One column for each T: when it was run, and how that is known."""
    for change in debrief.workflow:
        name = f"{change.leg.spoke} {change.leg.leg}" if change.leg.spoke else change.leg.leg
        order = "" if change.is_in_order is None else "yes" if change.is_in_order else "NO"
        yield _clock(debrief, change.at_s), name, *(_t_done(done) for done in change.ts), order


def _t_done(done: TDone) -> str:
    at = "" if done.late_s is None else f" {done.late_s:+.1f}"
    return {"not needed": "-", "said by the coach": "by coach"}.get(done.by, done.by) + at


def _consistency(debrief: Debrief) -> Rows:
    for one in debrief.consistency:
        yield one.what, f"{one.mean:.1f} {one.unit}", f"{one.spread:.1f}", str(len(one.values))


def _clock(debrief: Debrief, at_s: float) -> str:
    return debrief.render_utc(at_s).rpartition("T")[2]


def _degrees(angle_deg: float | None) -> str:
    return "" if angle_deg is None else f"{angle_deg:05.1f}"
