"""The history in words and as plain values: each trend with its spread beside its mean."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict

from coach.debrief.history import SessionFigures, SkillFigure, Trend
from coach.debrief.report_words import render_plain, render_share

COLUMNS = ("skill", "n", "first", "latest", "mean, spread", "latest figure", "within")


def trend_rows(trends: Sequence[Trend]) -> Iterator[tuple[str, ...]]:
    """One row a skill, as `COLUMNS`: how many sessions, the shares within the standard, and where it goes."""
    for trend in trends:
        yield (
            trend.skill,
            str(len(trend.points)),
            render_share(trend.shares[0]),
            render_share(trend.shares[-1]),
            f"{render_share(trend.mean_share)}, {100.0 * trend.spread_share:.0f}",
            render_figure(trend.latest),
            trend.direction,
        )


def render_figure(figure: SkillFigure) -> str:
    """A session's figure with its spread."""
    if figure.mean is None:
        return f"rms {figure.spread:.1f} {figure.unit}"
    return f"{render_plain(figure.mean)} ± {figure.spread:.1f} {figure.unit}"


def encode_sessions(sessions: Sequence[SessionFigures]) -> list[dict[str, object]]:
    """Return every session's figures as JSON values: what an export holds."""
    return [
        asdict(session)
        | {"began_utc": session.began_utc.isoformat(), "skills": list(map(asdict, session.skills))}
        for session in sessions
    ]


def encode_trends(trends: Sequence[Trend]) -> list[Mapping[str, object]]:
    """Return the trends as JSON values."""
    return [
        {
            "drill": trend.drill,
            "skill": trend.skill,
            "standard": trend.standard,
            "sessions": [session.session for session, _ in trend.points],
            "within_shares": [round(share, 4) for share in trend.shares],
            "mean_share": round(trend.mean_share, 4),
            "spread_share": round(trend.spread_share, 4),
            "means": [figure.mean for _, figure in trend.points],
            "spreads": [figure.spread for _, figure in trend.points],
            "direction": trend.direction,
        }
        for trend in trends
    ]
