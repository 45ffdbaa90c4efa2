"""Builds the eight-spoke drill from legs, without a drill file, for the plan's tests."""

from __future__ import annotations

from coach.drill.model import Clock, Drill, Ending, Leg, T, TimerFrom, Turn
from coach.nav.angles import as_heading, difference_deg

LEFT, RIGHT = Turn.LEFT, Turn.RIGHT


def eight_spoke(
    *,
    first_outbound: int = 240,
    arrive_course: int | None = None,
    spokes: int = 8,
    rotation_deg: int = -45,
    sides: tuple[Turn, ...] = (LEFT, RIGHT),
    leg_s: float = 60.0,
    offset_leg_s: float = 60.0,
    timer_from: TimerFrom = TimerFrom.TURN,
) -> Drill:
    """Return the drill of `procedure.md`; `rotation_deg` left negative, `sides` taken in turn."""
    arrive = as_heading(first_outbound - rotation_deg) if arrive_course is None else arrive_course
    legs: list[Leg] = []
    outbound, inbound = first_outbound, arrive
    for spoke in range(1, spokes + 1):
        side = sides[(spoke - 1) % len(sides)]
        legs += spoke_legs(len(legs), spoke, inbound, outbound, side, leg_s, offset_leg_s)
        inbound = as_heading(outbound + 180)
        outbound = as_heading(inbound + rotation_deg)
    return Drill(
        name="eight-spoke",
        title="Eight spokes",
        source="common practice, no source",
        arrive_course_mag_deg=arrive,
        timer_from=timer_from,
        five_ts=tuple(T),
        legs=tuple(legs),
        settings=(),
        warnings=(),
    )


def spoke_legs(
    before: int, spoke: int, arrive: int, outbound: int, side: Turn, leg_s: float, offset_leg_s: float
) -> list[Leg]:
    """Return the four legs of one spoke, numbered after `before` legs."""
    other = RIGHT if side is LEFT else LEFT
    offset = as_heading(outbound + (-45 if side is LEFT else 45))
    inbound = as_heading(outbound + 180)
    turned = difference_deg(outbound, arrive)
    first = Turn.NONE if turned == 0 else LEFT if turned < 0 else RIGHT
    return [
        leg(
            before + 1,
            spoke,
            "outbound",
            first,
            int(abs(turned)),
            outbound,
            outbound,
            clock=Clock.START,
            leg_s=leg_s,
        ),
        leg(before + 2, spoke, "offset", side, 45, offset, inbound, clock=Clock.RUN, leg_s=offset_leg_s),
        leg(before + 3, spoke, "reversal", other, 180, as_heading(offset + 180), inbound, clock=Clock.STOP),
        leg(before + 4, spoke, "inbound", other, 45, inbound, inbound),
    ]


ENDINGS = {
    "outbound": Ending.TIME,
    "offset": Ending.TIME,
    "reversal": Ending.INTERCEPT,
    "inbound": Ending.PASSAGE,
}


def leg(
    n: int,
    spoke: int | None,
    name: str,
    turn: Turn,
    turn_deg: int,
    heading: int | None,
    course: int | None,
    *,
    clock: Clock = Clock.NONE,
    leg_s: float | None = None,
    ends_on: Ending | None = None,
    tracks: bool | None = None,
) -> Leg:
    """Return a leg; what it tracks and ends on follow from a name of the eight-spoke drill unless given."""
    return Leg(
        n=n,
        spoke=spoke,
        leg=name,
        turn=turn,
        turn_deg=turn_deg,
        heading_mag_deg=heading,
        course_mag_deg=course,
        sets_course=name in ("outbound", "offset"),
        tracks=name in ("outbound", "inbound") if tracks is None else tracks,
        clock=clock,
        leg_s=leg_s,
        ends_on=ENDINGS[name] if ends_on is None else ends_on,
        throttle=None,
        talk=None,
    )
