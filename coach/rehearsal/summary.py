"""What came of a rehearsal: the JSON of the command and the few lines a person reads.

Every figure is measured from what happened; none is the plan's unless it says so. Never prints.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from typing import Any

from coach.drill.briefing import briefing_rows, render_time
from coach.nav.angles import as_heading
from coach.rehearsal.feed_summary import encode_feed, render_feed
from coach.rehearsal.rehearse import Rehearsal
from coach.rehearsal.transcript import Heard
from coach.session.mastery import Step
from coach.session.progress import legs_in_round, round_of
from coach.session.prompts import budget_words, count_of_words
from coach.session.teacher import Mode


def encode_rehearsal(rehearsal: Rehearsal) -> dict[str, Any]:
    """A rehearsal as one JSON object.

    `flown_start_s` and all `at_s` are seconds on the session clock, which starts a minute before the station.
    `words_a_spoke` is the most the coach said in any spoke; `words_by_spoke` has each. Legs never begun have
    null for what was flown. `onset_error_ms`: how much later than it was said the ear dated a word.
    """
    return {
        "drill": rehearsal.plan.drill.name,
        "legs": list(_encode_legs(rehearsal)),
        "heard": [_encode_heard(heard) for heard in rehearsal.heard],
        "calls": [
            {"at_s": round(call.at_s, 3), "due_s": _rounded(call.due_s), "what": call.what}
            for call in rehearsal.calls
        ],
        "words_a_spoke": max(words_by_spoke(rehearsal), default=0),
        "words_by_spoke": list(words_by_spoke(rehearsal)),
        "keys_pressed": sum(said.by_key for said in rehearsal.said),
        "radio_calls": rehearsal.radio_calls,
        "ear": rehearsal.ear or None,
        "snr_db": rehearsal.snr_db,
        "snr_300_3400_hz_db": None if rehearsal.band_snr_db is None else round(rehearsal.band_snr_db, 1),
        "simulated_s": round(rehearsal.simulated_s, 1),
        "wall_s": round(rehearsal.wall_s, 2),
        "typed": rehearsal.typed,
        "mode": rehearsal.mode.value,
        "judged": [{"at_s": round(at_s, 3), "what": what} for at_s, what in rehearsal.judged],
        "feed": None if rehearsal.feed is None else encode_feed(rehearsal.feed),
    }


def words_by_spoke(rehearsal: Rehearsal) -> tuple[int, ...]:
    """How many words the coach said in each spoke, from its station passage to the next one's.

    In a drill without spokes: in each lap, or between the legs flown once before and after.
    """
    starts_s = _spoke_starts(rehearsal)
    end_s = max(
        (call.at_s for call in rehearsal.calls if call.what.startswith("Drill complete")), default=math.inf
    )
    words = [0] * len(starts_s)
    for call in rehearsal.calls:
        spoke = bisect_right(starts_s, call.at_s) - 1
        if spoke >= 0 and call.at_s < end_s:
            words[spoke] += count_of_words(call.what)
    return tuple(words)


def render_rehearsal(rehearsal: Rehearsal) -> tuple[str, ...]:
    """What a person wants to know afterwards, one line each."""
    return (
        f"Flown: {render_time(rehearsal.simulated_s)} in {rehearsal.wall_s:.1f} s; "
        f"{len(rehearsal.legs)} heading changes of {len(rehearsal.plan.legs)} planned",
        f"Coach: {_render_words(rehearsal)}; {_render_calls(rehearsal)}",
        *_render_taught(rehearsal),
        *([] if rehearsal.feed is None else render_feed(rehearsal.feed)),
        *_render_hearing(rehearsal),
    )


def _encode_legs(rehearsal: Rehearsal) -> Iterator[dict[str, Any]]:
    flown = {leg.n: leg for leg in rehearsal.legs}
    for row in briefing_rows(rehearsal.plan):
        leg = flown.get(row["n"])
        yield row | {
            "flown_start_s": None if leg is None else round(leg.start_s, 1),
            "flown_heading_mag_deg": None if leg is None else as_heading(leg.heading_mag_deg),
        }


def _encode_heard(heard: Heard) -> dict[str, Any]:
    error_s = heard.onset_error_s
    return {
        "at_s": round(heard.at_s, 3),
        "onset_s": round(heard.onset_s, 3),
        "said": heard.said,
        "understood": heard.understood,
        "onset_error_ms": None if error_s is None else round(1000 * error_s, 1),
    }


def _rounded(at_s: float | None) -> float | None:
    return None if at_s is None else round(at_s, 3)


def _spoke_starts(rehearsal: Rehearsal) -> tuple[float, ...]:
    """When each spoke was begun on the session clock: its first leg's turn, or with a feed the passage."""
    if rehearsal.feed is not None and rehearsal.plan.drill.spokes:
        spokes_flown = rehearsal.plan.drill.spokes
        return tuple(passage.truth_s for passage in rehearsal.feed.passages[:spokes_flown])
    rounds = {planned.leg.n: round_of(planned.leg) for planned in rehearsal.plan.legs}
    firsts: list[float] = []
    before = None
    for flown in rehearsal.legs:
        if rounds[flown.n] != before:
            before = rounds[flown.n]
            firsts.append(flown.start_s)
    return tuple(firsts)


def _render_words(rehearsal: Rehearsal) -> str:
    most = max(words_by_spoke(rehearsal), default=0)
    unit, legs = _unit(rehearsal)
    budget = budget_words(rehearsal.talk, legs)
    return f"at most {most} words a {unit} (the budget of {rehearsal.talk} is {budget})"


def _unit(rehearsal: Rehearsal) -> tuple[str, int]:
    """What the words are counted by, and the most legs that one has."""
    plan = rehearsal.plan
    last = plan.legs[-1].leg
    unit = "spoke" if last.spoke is not None else "drill" if last.lap is None else "lap"
    return unit, max(legs_in_round(plan, i) for i in range(len(plan.legs)))


def _render_taught(rehearsal: Rehearsal) -> Iterator[str]:
    """What came of questions and callouts, and how the next session would begin."""
    judged = [what for _, what in rehearsal.judged]
    if rehearsal.mode is Mode.RECALL:
        ends = (
            (", right", "right"),
            (")", "nearly"),
            (", wrong", "wrong"),
            ("no answer", "not answered"),
            ("understood", "not understood"),
        )
        counts = ", ".join(f"{sum(what.endswith(end) for what in judged)} {name}" for end, name in ends)
        yield f"Recall: {len(judged)} questions, {counts}"
    elif rehearsal.mode is Mode.CALLOUT:
        complete = sum(what.startswith("callout complete") for what in judged)
        yield f"Callouts: {complete} of {len(judged)} without a fault"
    if rehearsal.mode is not Mode.TOLD:
        steps = (
            f"{one.element} {Step(one.step).name.lower()} ({one.known:.0%})" for one in rehearsal.mastery
        )
        yield f"Next session begins with: {', '.join(steps)}"


def _render_calls(rehearsal: Rehearsal) -> str:
    late_ms = [1000 * abs(call.at_s - call.due_s) for call in rehearsal.calls if call.due_s is not None]
    if not late_ms:
        return "no time calls"
    return f"{len(late_ms)} time calls, at most {max(late_ms):.1f} ms from their due time"


def _render_hearing(rehearsal: Rehearsal) -> Iterator[str]:
    keys = sum(said.by_key for said in rehearsal.said)
    if rehearsal.is_mute:
        yield "Pilot: nothing spoken, no key pressed"
        return
    if rehearsal.typed:
        yield f"Pilot: {keys} keys pressed, nothing spoken"
        return
    spoken = [heard for heard in rehearsal.heard if heard.said is not None]
    right = sum(heard.said == heard.understood for heard in spoken)
    false = sum(heard.said is None and heard.understood is not None for heard in rehearsal.heard)
    yield (
        f"Ear: {right} of {len(spoken)} words understood, {false} heard that were not said, "
        f"{keys} keys pressed ({rehearsal.ear})"
    )
    if rehearsal.radio_calls:
        yield f"Radio: {rehearsal.radio_calls} sentences of the pilot that were not for the coach"
    yield from _render_noise(rehearsal)
    yield from _render_onsets(heard.onset_error_s for heard in spoken)


def _render_noise(rehearsal: Rehearsal) -> Iterator[str]:
    if rehearsal.snr_db is None:
        yield "Cabin: silent"
    elif rehearsal.band_snr_db is not None:
        yield f"Cabin: SNR {rehearsal.snr_db:g} dB, {rehearsal.band_snr_db:.0f} dB within 300-3400 Hz"


def _render_onsets(errors_s: Iterable[float | None]) -> Iterator[str]:
    errors_ms = sorted(1000 * error_s for error_s in errors_s if error_s is not None)
    if errors_ms:
        yield (
            f"Onsets: dated {errors_ms[0]:+.0f} to {errors_ms[-1]:+.0f} ms from the word's first sample, "
            f"median {errors_ms[len(errors_ms) // 2]:+.0f} ms"
        )
