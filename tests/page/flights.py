"""A flight of the procedure's drill folded into a board. For tests only."""

from __future__ import annotations

from typing import Any

from coach.nav.station import Station
from coach.page.board import Board
from coach.session.events import Event
from tests.session.dialogue import Dialogue, eight_spoke

STATION = Station(latitude_deg=-33.0, longitude_deg=-12.0, declination_deg=-10.0)
"""In mid-ocean."""

PASSAGE_S = 50.0


class Shown:
    """A dialogue with the session whose events and actions go to a board as the loop gives them."""

    def __init__(self, station: Station | None = None, **settings: object) -> None:
        plan = eight_spoke(spokes=2, **settings)
        self.board = Board(plan, station=station)
        self.dialogue = Dialogue(plan)
        self._told = 0
        self._catch_up()

    def wait_until(self, at_s: float) -> Shown:
        self.dialogue.wait_until(at_s)
        return self._catch_up()

    def hear(self, phrase: str, *, onset_s: float | None = None, by: str = "voice") -> Shown:
        self.dialogue.hear(phrase, onset_s=onset_s, by=by)
        return self._catch_up()

    def happen(self, event: Event) -> Shown:
        self.dialogue.handle(event)
        return self._catch_up()

    def value(self, key: str) -> Any:
        return self.board.ledger.find_value(key)

    def cell(self, n: int, t: str) -> tuple[bool, str | None]:
        """Whether the coach called it, and by whom it was confirmed."""
        cell = self.value(f"row:{n}")["cells"][self.value("plan")["ts"].index(t)]
        return cell["called_s"] is not None, cell["by"]

    def _catch_up(self) -> Shown:
        for event, actions in self.dialogue.all[self._told :]:
            self.board.note_event(event, event.at_s)
            for action in actions:
                self.board.note_action(action, event.at_s)
        self._told = len(self.dialogue.all)
        self.board.note_time(self.dialogue.at_s)
        return self


def flying(**settings: object) -> Shown:
    """The first passage at 50 s, understood 0.4 s later."""
    shown = Shown(**settings).wait_until(PASSAGE_S + 0.4)
    return shown.hear("station passage", onset_s=PASSAGE_S)
