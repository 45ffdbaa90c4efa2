"""The table of DEVELOPERS.md is what the code does; `python -m tests.test_developers` writes it anew."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from coach.session.grammar import ALWAYS, phrases_for
from coach.session.progress import Hush, Progress, State
from tests.session.dialogue import eight_spoke

GUIDE = Path(__file__).parent.parent / "DEVELOPERS.md"
BEGIN, END = "<!-- states -->\n", "<!-- /states -->"


def table() -> str:
    plan = eight_spoke(timer_from="level")
    flying = [Progress(state=State.FLYING, leg_i=i) for i in range(4)]
    rows = [
        ("arriving", Progress(state=State.ARRIVING)),
        ("arriving after rejoin", Progress(state=State.ARRIVING, is_rejoin=True)),
        *((f"flying, {plan.legs[i].leg.leg} leg", progress) for i, progress in enumerate(flying)),
        ("the same, standing by", replace(flying[0], hush=Hush.STANDING_BY)),
        ("suspended", replace(flying[0], hush=Hush.SUSPENDED)),
        ("complete", Progress(state=State.COMPLETE)),
    ]
    lines = [
        f"Always: {', '.join(ALWAYS)}. After a step: disregard.",
        "",
        "| state | listened for besides |",
        "|---|---|",
    ]
    for name, progress in rows:
        heard = phrases_for(plan, progress, can_undo=False)
        lines.append(f"| {name} | {', '.join(word for word in heard if word not in ALWAYS)} |")
    return "\n".join(lines) + "\n"


def test_state_table_of_the_guide_is_the_codes():
    guide = GUIDE.read_text()
    assert guide[guide.index(BEGIN) + len(BEGIN) : guide.index(END)] == table()


if __name__ == "__main__":
    text = GUIDE.read_text()
    GUIDE.write_text(text[: text.index(BEGIN) + len(BEGIN)] + table() + text[text.index(END) :])
