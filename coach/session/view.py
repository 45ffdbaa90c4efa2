"""Where the drill stands, in the words of a screen and of the journal. Pure text, decides nothing."""

from __future__ import annotations

from coach.drill.plan import Plan
from coach.session import prompts
from coach.session.actions import Show
from coach.session.progress import (
    Hush,
    Progress,
    State,
    ends_at_s,
    find_following,
    leg_of,
    start_mag_deg,
    timer_from_s,
)


def view_of(plan: Plan, progress: Progress, note: str) -> Show:
    """What every screen shows now."""
    is_flying = progress.state is State.FLYING
    leg = leg_of(plan, progress)
    return Show(
        state=progress.state if progress.hush is Hush.NONE else progress.hush,
        leg_n=leg.n if is_flying else None,
        spoke=leg.spoke if progress.state is not State.COMPLETE else None,
        leg=leg.leg if is_flying else None,
        heading_mag_deg=leg.heading_mag_deg if is_flying else None,
        course_mag_deg=leg.course_mag_deg if is_flying else None,
        timer_from_s=timer_from_s(plan, progress) if is_flying else None,
        ends_at_s=ends_at_s(plan, progress),
        coming=_coming(plan, progress),
        note=note,
    )


def described(plan: Plan, progress: Progress) -> str:
    """One line for the journal, such as `leg 5: spoke 2 outbound`."""
    if progress.state is not State.FLYING:
        return str(progress.state)
    leg = leg_of(plan, progress)
    spoke = f"spoke {leg.spoke} " if leg.spoke else f"lap {leg.lap} " if leg.lap else ""
    established = " established" if progress.established_s is not None else ""
    return f"leg {leg.n}: {spoke}{leg.leg}{established}"


def _coming(plan: Plan, progress: Progress) -> str:
    if progress.state is State.COMPLETE:
        return ""
    if progress.state is State.ARRIVING:
        return prompts.first_leg(leg_of(plan, progress), start_mag_deg(plan, progress.leg_i))
    following = find_following(plan, progress)
    return prompts.checkpoint(following) if following else "Drill complete"
