"""Puts a debrief together from a track, a journal, or both.

Never fails for what is missing: without a journal there are no legs, without a track no marks of flying, and
the notes say so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from coach.debrief.alignment import Begun, align, own_feed
from coach.debrief.consistency import compare_spokes
from coach.debrief.filtering import interval_s
from coach.debrief.flight import Flight, see_flight
from coach.debrief.journal_legs import AROUND_S, JournalLegs, Word, read_legs
from coach.debrief.leg_bench import Bench, bench_of
from coach.debrief.leg_holds import hold_leg
from coach.debrief.leg_marks import mark_leg
from coach.debrief.leg_turns import LegOnTrack, lay_legs, skipped
from coach.debrief.model import Alignment, Bookmark, Debrief, LegFlown, Mark, TurnFlown
from coach.debrief.passages import find_passages
from coach.debrief.radials import find_arcs, find_radials
from coach.debrief.standards import WORD, is_within
from coach.debrief.turns import find_turns
from coach.debrief.workflow import tell_workflow
from coach.drill.plan import Plan
from coach.fixes.track import Track
from coach.nav.station import Station
from coach.nav.vor import FULL_SCALE_DEG
from coach.session.journal import Journal

CALLED_WITHIN_S = 5.0
"""The coach's prompt of a leg begins this soon after its checkpoint; a second before at the most."""

ANSWERED_WITHIN_S = 15.0
"""A later word answers something else; our own choice."""

NO_HEADING = (
    "The track has no heading, and too little is turned in it to tell the wind: turns and their rates are "
    "the track's, which in wind are not the heading's; headings are not scored."
)
ESTIMATED = (
    "The track has no heading: it is estimated from the track with the wind that the turns show ({wind}). A "
    "steady error of a degree or two cannot be told from that wind."
)
SELDOM_S = 2.0
SELDOM = (
    "Fixes come {every_s:.0f} s apart: when a turn begins is known to about that, its rate only where it "
    "lasts for several of them, and two turns with less between them are one."
)
NO_TRACK = "There is no track: only what was said and when is told."
NO_STATION = "No station is known: nothing of the track is told. Give one with --station."


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionFlown:
    """What is known of a session beside its track."""

    journal: Journal
    plan: Plan
    """As it was before the flight: the drill, its legs, the wind named."""

    full_scale_deg: float = FULL_SCALE_DEG
    height_ft: float = 2000.0
    """Above the station, as set."""


def debrief_track(track: Track, station: Station) -> Debrief:
    """Return what a track shows without a journal."""
    return _seen(see_flight(track, station))


def debrief_session(session: SessionFlown, track: Track | None, station: Station | None) -> Debrief:
    """Return what a session's journal tells, laid beside a track where there is one.

    `track`: the session's own feed (form `session`) or a file. Without a station it is not looked at.
    """
    told = read_legs(session.journal)
    if track is None or station is None:
        return _without_track(session, told, NO_TRACK if track is None else NO_STATION)
    seen = _seen(see_flight(_same_day(track, session.journal), station))
    assert seen.flight is not None
    shift_s = (session.journal.header.began_utc - seen.began_utc).total_seconds()
    alignment = _align(session.plan, told, seen, shift_s)
    if isinstance(alignment, str):
        alone = _without_track(session, told, alignment)
        # The journal's own figures would need its clock: what the track shows is told, and the workflow is
        # not.
        return replace(seen, plan=session.plan, notes=(*seen.notes, *alone.notes))
    legs = lay_legs(
        session.plan,
        told.entries,
        seen.turns,
        shift_s=shift_s + alignment.offset_s,
        end_s=float(seen.flight.time_s[-1]),
    )
    return _with_legs(seen, session, told, legs, alignment)


def _seen(flight: Flight) -> Debrief:
    return Debrief(
        began_utc=flight.track.began_utc,
        has_date=flight.track.has_date,
        flight=flight,
        passages=find_passages(flight),
        radials=find_radials(flight),
        arcs=find_arcs(flight),
        turns=find_turns(flight),
        notes=(*flight.track.notes, *_tell_heading(flight)),
    )


def _tell_heading(flight: Flight) -> Iterator[str]:
    every_s = interval_s(flight.time_s)
    if every_s > SELDOM_S:
        yield SELDOM.format(every_s=every_s)
    if flight.heading_by is None:
        yield NO_HEADING
    elif flight.heading_by == "estimated heading" and flight.wind is not None:
        wind = flight.wind.mean
        yield ESTIMATED.format(wind=f"{wind.from_deg:03.0f}/{wind.speed_kt:.0f}, magnetic")


def _same_day(track: Track, journal: Journal) -> Track:
    """A track without a date is taken to be of the journal's day, or the one that brings it nearest."""
    if track.has_date:
        return track
    apart = journal.header.began_utc - track.began_utc
    days = round(apart / timedelta(days=1))
    return replace(track, began_utc=track.began_utc + timedelta(days=days))


def _align(plan: Plan, told: JournalLegs, seen: Debrief, shift_s: float) -> Alignment | str:
    assert seen.flight is not None
    if seen.flight.track.form == "session":
        return own_feed()
    first = plan.drill.begins_on
    endings = [first, *(planned.leg.ends_on for planned in plan.legs)]
    legs = {planned.leg.n: (planned.leg, by) for planned, by in zip(plan.legs, endings, strict=False)}
    begun = [
        Begun(leg=legs[entry.leg_n][0], at_s=entry.begun_s + shift_s, by=legs[entry.leg_n][1])
        for entry in told.entries
        if entry.leg_n in legs
    ]
    return align(begun, seen.turns, seen.passages)


def _without_track(session: SessionFlown, told: JournalLegs, note: str) -> Debrief:
    turns: tuple[TurnFlown, ...] = ()
    legs = lay_legs(session.plan, told.entries, turns, shift_s=0.0, end_s=told.ended_s)
    workflow = tell_workflow(session.plan, legs, told)
    flown = tuple(
        LegFlown(
            leg=laid.leg,
            how="flown" if laid.how == "no turn seen" else laid.how,
            told="" if laid.how == "no turn seen" else laid.told,
            begun_s=laid.begun_s,
            ended_s=laid.ended_s,
            turn=None,
            marks=tuple(_word_marks(laid, told.words)),
        )
        for laid in legs
    )
    return Debrief(
        began_utc=session.journal.header.began_utc,
        has_date=True,
        flight=None,
        plan=session.plan,
        legs=_with_skipped(session.plan, told, flown),
        workflow=workflow,
        consistency=compare_spokes(flown, workflow),
        bookmarks=tuple(_bookmarks(told, 0.0)),
        notes=(note, *_tell_end(session.plan, told)),
    )


def _with_legs(
    seen: Debrief,
    session: SessionFlown,
    told: JournalLegs,
    legs: Sequence[LegOnTrack],
    alignment: Alignment,
) -> Debrief:
    assert seen.flight is not None
    bench = bench_of(
        seen.flight,
        session.plan,
        full_scale_deg=session.full_scale_deg,
        height_ft=session.height_ft,
        from_s=legs[0].begun_s if legs else 0.0,
    )
    followings = (*legs[1:], None)
    flown = tuple(
        _leg_flown(bench, laid, following, told) for laid, following in zip(legs, followings, strict=False)
    )
    workflow = tell_workflow(session.plan, legs, told)
    shift_s = legs[0].begun_s - legs[0].entry.begun_s if legs else 0.0
    return replace(
        seen,
        plan=session.plan,
        alignment=alignment,
        legs=_with_skipped(session.plan, told, flown),
        workflow=workflow,
        consistency=compare_spokes(flown, workflow),
        bookmarks=tuple(_bookmarks(told, shift_s)),
        notes=(alignment.told, *seen.notes, *_tell_end(session.plan, told)),
    )


def _leg_flown(bench: Bench, laid: LegOnTrack, following: LegOnTrack | None, told: JournalLegs) -> LegFlown:
    return LegFlown(
        leg=laid.leg,
        how=laid.how,
        told=laid.told,
        begun_s=laid.begun_s,
        ended_s=laid.ended_s,
        turn=laid.turn,
        marks=(*mark_leg(bench, laid, following), *_word_marks(laid, told.words)),
        held=hold_leg(bench, laid, following),
    )


def _with_skipped(plan: Plan, told: JournalLegs, flown: tuple[LegFlown, ...]) -> tuple[LegFlown, ...]:
    """The legs flown, and in their places those that were passed over."""
    legs = list(flown)
    for leg in skipped(plan, told.entries):
        at = next((i for i, other in enumerate(legs) if other.leg.n > leg.n), len(legs))
        text = "This leg was passed over: a later one was begun."
        legs.insert(at, LegFlown(leg=leg, how="skipped", told=text, begun_s=None, ended_s=None, turn=None))
    return tuple(legs)


def _tell_end(plan: Plan, told: JournalLegs) -> Iterator[str]:
    last = max((entry.leg_n for entry in told.entries), default=0)
    never = [planned.leg.n for planned in plan.legs if planned.leg.n > last]
    if never:
        yield (
            f"Legs {never[0]} to {never[-1]} were not reached."
            if never[1:]
            else f"Leg {never[0]} was not reached."
        )


def _word_marks(laid: LegOnTrack, words: Sequence[Word]) -> Iterator[Mark]:
    """From the coach's call at the checkpoint to the pilot's next word."""
    begun_s, shift_s = laid.entry.begun_s, laid.begun_s - laid.entry.begun_s
    call = next(
        (word for word in words if word.who == "coach" and -1.0 <= word.at_s - begun_s <= CALLED_WITHIN_S),
        None,
    )
    if call is None:
        return
    word = next(
        (word for word in words if word.who == "pilot" and 0.0 < word.at_s - call.at_s <= ANSWERED_WITHIN_S),
        None,
    )
    if word is not None:
        late_s = word.at_s - call.at_s
        yield Mark(
            what="call to word",
            value=late_s,
            unit="s",
            standard=WORD,
            is_within=is_within(late_s, WORD),
            reason=f'From the first word of "{call.text}" to "{word.text}".',
            start_s=call.at_s + shift_s,
            end_s=word.at_s + shift_s,
        )


def _bookmarks(told: JournalLegs, shift_s: float) -> Iterator[Bookmark]:
    for at_s, what in told.bookmarks:
        around = tuple(
            (word.at_s + shift_s, f"{word.who}: {word.text}")
            for word in told.words
            if abs(word.at_s - at_s) <= AROUND_S
        )
        yield Bookmark(at_s=at_s + shift_s, what=what, around=around)
