"""A flight broken off: found, dated, gone on with."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from coach.broken_off import (
    BrokenOff,
    clock_settings,
    encode_asked,
    find_broken_off,
    find_recent,
    reading_s,
    render_length,
    take_up,
)
from coach.cockpit import SessionClock
from coach.drill.plan import plan_drill
from coach.errors import JournalError
from coach.flight import Choice, fly_live
from coach.session.actions import Action, Expect, Listen, Say, Show
from coach.session.events import Event, PhraseHeard, PromptDropped, TransmitEnded, Woken
from coach.session.journal import Closed, Header, Journal, encode_line
from coach.session.replay import Standing
from coach.settings import Settings
from coach.store.drills import read_drill
from coach.store.journals import begin_journal
from coach.store.phrases import read_phrases

BEGAN = datetime(2031, 5, 4, 8, 0, tzinfo=UTC)
HEADER = Header(
    version=1,
    drill="eight-spoke",
    drill_settings=(),
    began_utc=BEGAN,
    coach_version="0",
    session_settings=(("boot", "b1"), ("began_steady_s", "1000.0")),
)


def broken_off(**header: object) -> BrokenOff:
    journal = Journal(
        header=replace(HEADER, **header),  # type: ignore[arg-type]
        steps=((Woken(at_s=60.0, onset_s=60.0), ()),),
        late=(),
        is_closed=False,
    )
    return BrokenOff(path=Path("flight.jsonl"), journal=journal, repair=None)


def reads(flight: BrokenOff, *, steady_s: float, after_s: float, boot: str) -> float | None:
    now = BEGAN + timedelta(seconds=after_s)
    return reading_s(flight, steady=lambda: steady_s, now_utc=lambda: now, boot=boot)


@pytest.mark.parametrize("wall_step_s", [-3600.0, 0.0, 3600.0])
def test_wall_clock_that_was_set_changes_nothing_while_the_machine_runs(wall_step_s: float) -> None:
    assert reads(broken_off(), steady_s=1090.0, after_s=90.0 + wall_step_s, boot="b1") == 90.0


@pytest.mark.parametrize("boot", ["b2", ""])
def test_machine_started_anew_goes_by_the_wall_clock(boot: str) -> None:
    assert reads(broken_off(), steady_s=5.0, after_s=300.0, boot=boot) == 300.0


def test_journal_without_the_machines_clock_goes_by_the_wall_clock() -> None:
    flight = broken_off(session_settings=())
    assert reads(flight, steady_s=1090.0, after_s=300.0, boot="b1") == 300.0


def test_machines_clock_that_is_no_number_is_not_believed() -> None:
    flight = broken_off(session_settings=(("boot", "b1"), ("began_steady_s", "soon")))
    assert reads(flight, steady_s=1090.0, after_s=300.0, boot="b1") == 300.0


def test_clock_before_the_last_event_is_not_known() -> None:
    assert reads(broken_off(), steady_s=5.0, after_s=59.0, boot="b2") is None


def test_header_keeps_what_the_clock_is_found_again_by() -> None:
    settings = dict(clock_settings(SessionClock(reads_s=12.0), boot="b1"))
    flight = broken_off(session_settings=tuple(settings.items()))
    now_s = float(settings["began_steady_s"]) + 80.0
    assert reads(flight, steady_s=now_s, after_s=0.0, boot="b1") == pytest.approx(80.0)


def test_machine_without_such_a_clock_keeps_nothing() -> None:
    assert clock_settings(SessionClock(), boot="") == ()


def test_options_come_back_as_they_were_and_nothing_else_is_kept() -> None:
    asked = {"drill": "eight-spoke", "set": ["leg_s=40"], "no_ear": True, "seed": 3, "wind": None}
    text = encode_asked({**asked, "run": print, "nested": [["a"]]})
    assert broken_off(session_settings=(("asked", text),)).asked == asked


@pytest.mark.parametrize("text", ["", "[]", "{", "[" * 100_000, '{"run": {"a": 1}}'])
def test_options_that_are_none_are_no_options(text: str) -> None:
    assert broken_off(session_settings=(("asked", text),)).asked == {}


@pytest.mark.parametrize(
    ("seconds", "shown"), [(0.4, "0:00"), (65.0, "1:05"), (3599.6, "1:00:00"), (7325.0, "2:02:05")]
)
def test_length_of_time_is_shown_as_on_a_clock(seconds: float, shown: str) -> None:
    assert render_length(seconds) == shown


def write_journal(folder: Path, name: str, *, is_closed: bool = False) -> Path:
    path = folder / f"{name}.jsonl"
    lines = [HEADER, Woken(at_s=1.0, onset_s=1.0), *([Closed()] if is_closed else [])]
    path.write_text("".join(f"{encode_line(line)}\n" for line in lines))  # type: ignore[arg-type]
    return path


def test_newest_flight_broken_off_is_found(tmp_path: Path) -> None:
    write_journal(tmp_path, "20310504T080000Z-a")
    newest = write_journal(tmp_path, "20310504T090000Z-a")
    write_journal(tmp_path, "20310504T100000Z-a", is_closed=True)
    assert find_broken_off(tmp_path).path == newest


def test_flight_is_found_by_its_name(tmp_path: Path) -> None:
    oldest = write_journal(tmp_path, "20310504T080000Z-a")
    write_journal(tmp_path, "20310504T090000Z-a")
    for name in ("20310504T080000Z-a", "20310504T080000Z-a.jsonl"):
        assert find_broken_off(tmp_path, name).path == oldest


@pytest.mark.parametrize("name", ["../flight", "/etc/passwd", "..", "a/b", "none", "", "a" * 300, "a\0b"])
def test_name_never_leads_out_of_the_folder(tmp_path: Path, name: str) -> None:
    inside = tmp_path / "journals"
    inside.mkdir()
    write_journal(tmp_path, "flight")
    with pytest.raises(JournalError, match="expected the name of a journal in"):
        find_broken_off(inside, name)


def test_flight_flown_to_its_end_is_refused(tmp_path: Path) -> None:
    write_journal(tmp_path, "flown", is_closed=True)
    with pytest.raises(JournalError, match="expected a flight that was broken off, got one flown to its end"):
        find_broken_off(tmp_path, "flown")


def test_no_flight_is_told(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="expected a flight that was broken off, got none"):
        find_broken_off(tmp_path / "none")


def test_only_a_flight_just_broken_off_is_recent(tmp_path: Path) -> None:
    path = write_journal(tmp_path, "20310504T080000Z-a")
    now = datetime.now(UTC)
    os.utime(path, (now.timestamp() - 100.0,) * 2)
    assert find_recent(tmp_path, 101.0, now) is not None
    assert find_recent(tmp_path, 99.0, now) is None
    write_journal(tmp_path, "20310504T090000Z-a", is_closed=True)
    assert find_recent(tmp_path, 101.0, now) is None


def test_flight_being_flown_is_not_offered(tmp_path: Path) -> None:
    with begin_journal(tmp_path, HEADER, post=lambda _: None, now_s=lambda: 0.0):
        assert find_recent(tmp_path, 1e9, datetime.now(UTC)) is None
        with pytest.raises(JournalError, match="got none"):
            find_broken_off(tmp_path)


class World:
    def __init__(self) -> None:
        self.done: list[Action] = []

    def now_s(self) -> float:
        return 100.0

    def do(self, action: Action) -> None:
        self.done.append(action)

    def wait(self, until_s: float | None) -> Event:
        raise NotImplementedError


def say(prompt: int, stale_s: float) -> Say:
    return Say(prompt=prompt, text="Left", due_s=None, stale_s=stale_s, is_time_call=True)


def test_what_can_still_be_said_is_said_and_the_rest_is_dropped() -> None:
    world, posted = World(), []
    listen = Listen(phrases=("next leg",))
    standing = Standing(
        at_s=100.0,
        listen=listen,
        expect=Expect(kind=None),
        show=None,
        unfinished=(say(1, 99.9), say(2, 100.1)),
        is_transmitting=True,
        missing=(),
    )
    take_up(standing, world, posted.append)
    assert world.done == [listen, Expect(kind=None), say(2, 100.1)]
    assert posted == [
        PromptDropped(at_s=100.0, onset_s=100.0, prompt=1, reason="broken off"),
        TransmitEnded(at_s=100.0, onset_s=100.0),
    ]


class Screen:
    """Presses a key once, and is interrupted at a leg."""

    def __init__(self, stops_at: Callable[[Action], bool], phrase: str | None = None) -> None:
        self._stops_at, self._phrase = stops_at, phrase
        self.done: list[Action] = []
        self.lines: list[str] = []

    def open(self, *, post: Callable[[Event], None], clock: Callable[[], float]) -> None:
        self._post = post
        if self._phrase is not None:
            post(PhraseHeard(at_s=clock(), onset_s=clock(), phrase=self._phrase, by="key"))

    def do(self, action: Action) -> None:
        self.done.append(action)
        if self._stops_at(action):
            raise KeyboardInterrupt

    def heard(self, event: Event) -> None:
        return

    def tell(self, text: str) -> None:
        self.lines.append(text)

    def close(self) -> None:
        return


def test_flight_interrupted_on_a_leg_goes_on_with_that_leg(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("coach.flight.journals_folder", lambda: tmp_path)
    plan = plan_drill(read_drill("eight-spoke", {}))
    choice = Choice(
        plan=plan,
        settings=Settings(),
        table=read_phrases(),
        has_ear=False,
        has_voice=False,
        asked='{"a":"b"}',
    )

    def is_on_leg(action: Action) -> bool:
        return isinstance(action, Show) and action.leg_n == 1

    first = Screen(is_on_leg, "station passage")
    with pytest.raises(KeyboardInterrupt):
        fly_live(choice, first)  # type: ignore[arg-type]
    found = find_broken_off(tmp_path)
    assert found.asked == {"a": "b"}
    second = Screen(is_on_leg)
    with pytest.raises(KeyboardInterrupt):
        fly_live(replace(choice, broken_off=found), second)  # type: ignore[arg-type]
    assert second.lines == ["Resumed after 0:00"]
    assert second.done[-1] == first.done[-1]
    assert len(find_broken_off(tmp_path).journal.steps) >= len(found.journal.steps)
