"""A pilot says the phrases: what is asked, in which order, and the profile that comes of it."""

from __future__ import annotations

import queue
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from coach import voice_check
from coach.errors import SetupError
from coach.session.actions import Say, Sound, Tone
from coach.session.events import EdgeFailed, PromptFinished
from coach.session.phrases import Phrase, PhraseTable
from coach.session.voice_profile import Scale, Shift, Take, VoiceProfile
from coach.settings import Settings
from coach.store.voice_profiles import list_recordings
from coach.voice.takes import NO_VOICE, HeardTake, Interrupted
from coach.voice_check import END, SKIP, Caller, Checked, Room, make_profile

SCALE = Scale(
    recogniser="fake",
    least=-1.0,
    least_margin=None,
    drop=0.5,
    most_raised=0.0,
    attracting=frozenset(),
    floors={"station passage": -9.0},
)
NOW = datetime(2026, 1, 1, tzinfo=UTC)


def phrase(canonical: str, *ways: str) -> Phrase:
    return Phrase(canonical=canonical, ways=ways, key=None, means="something")


TABLE = PhraseTable(
    language="en",
    phrases=(
        phrase("station passage", "station passage", "passage"),
        phrase("established", "established"),
        phrase("mute"),
        phrase("time", "time"),
    ),
)


class FakePilot:
    """Says what he is asked for as the script has it, and keeps what was asked and shown."""

    def __init__(self, script: dict[str, list[Take | str | Exception]]) -> None:
        self.script = script
        self.asked: list[tuple[str, int, bool]] = []
        self.shown: list[tuple[int, str | None]] = []
        self.told: list[str] = []
        self.grammars: list[tuple[str, ...]] = []
        self.from_s: list[float] = []
        self.cabin_rms = 0.01

    def ask(self, way: str, *, n: int, of: int, is_other: bool) -> None:
        self.asked.append((way, n, is_other))

    def show(self, take: Take, *, n: int, is_clipped: bool) -> None:
        self.shown.append((n, take.understood))

    def tell(self, text: str) -> None:
        self.told.append(text)

    def settle(self) -> None:
        return

    def listen(self, way: str, ways: tuple[tuple[str, str], ...], *, from_s: float) -> HeardTake:
        self.grammars.append(tuple(dict.fromkeys(phrase for _, phrase in ways)))
        self.from_s.append(from_s)
        step = self.script[way].pop(0)
        if isinstance(step, Exception):
            raise step
        if isinstance(step, str):
            raise Interrupted(step)
        sound = np.zeros(0 if step.reason == NO_VOICE else 1600, np.int16)
        return HeardTake(take=step, sound=sound, is_clipped=False)


@pytest.fixture(autouse=True)
def scale(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(voice_check, "find_scale", lambda name: SCALE if name == "fake" else None)


def check(pilot: FakePilot, folder: Path) -> Checked:
    caller = Caller(None, queue.SimpleQueue(), lambda: 5.0)
    room = Room(pilot, caller, pilot, "fake")  # type: ignore[arg-type]
    return room.check(TABLE, folder)


def good(canonical: str, score: float = 3.0) -> Take:
    return Take(understood=canonical, score=score)


BAD = Take(understood=None, reason="no phrase fits", score=-1.2)
NOBODY = Take(understood=None, reason=NO_VOICE)


def test_each_phrase_that_can_be_said_is_said_three_times(tmp_path: Path) -> None:
    pilot = FakePilot({name: [good(name)] * 3 for name in ("station passage", "established", "time")})
    checked = check(pilot, tmp_path)
    assert pilot.asked == [("station passage", 1, False), ("established", 2, False), ("time", 3, False)]
    assert pilot.shown[:3] == [(1, "station passage"), (2, "station passage"), (3, "station passage")]
    assert [ways[0].said.way for ways in checked.phrases] == ["station passage", "established", "time"]
    assert checked.shifts == ()
    assert len(list_recordings(tmp_path)) == 9


def test_weak_phrase_is_tried_another_way(tmp_path: Path) -> None:
    strong = [good("station passage")] * 3
    script = {"station passage": [good("station passage", -0.9), BAD, BAD], "passage": strong}
    pilot = FakePilot({**script, "established": [END]})
    checked = check(pilot, tmp_path)
    assert pilot.asked[:2] == [("station passage", 1, False), ("passage", 1, True)]
    ((first, second),) = checked.phrases
    assert first.said.understood_n == 1
    assert second.said.understood_n == 3
    assert checked.shifts == (Shift(way="station passage", by=-0.7),)


def test_leg_of_the_phrase_is_listened_for(tmp_path: Path) -> None:
    pilot = FakePilot({"station passage": [good("station passage")] * 3, "established": [END]})
    check(pilot, tmp_path)
    assert pilot.grammars[0] == ("station passage", "established")


def test_phrase_is_skipped_by_a_key_and_the_rest_is_asked(tmp_path: Path) -> None:
    script = {"station passage": [good("station passage"), SKIP], "established": [SKIP]}
    pilot = FakePilot({**script, "time": [good("time")] * 3})
    checked = check(pilot, tmp_path)
    assert [ways[0].said.way for ways in checked.phrases] == ["time"]


def test_another_key_ends_it_and_keeps_what_was_said(tmp_path: Path) -> None:
    pilot = FakePilot({"station passage": [good("station passage")] * 3, "established": [END]})
    checked = check(pilot, tmp_path)
    assert [ways[0].said.way for ways in checked.phrases] == ["station passage"]


def test_two_phrases_without_a_voice_end_it(tmp_path: Path) -> None:
    pilot = FakePilot({"station passage": [NOBODY] * 3, "passage": [NOBODY] * 3})
    with pytest.raises(SetupError, match="microphone: no voice in it; speak up"):
        check(pilot, tmp_path)
    assert list_recordings(tmp_path) == ()


def test_microphone_lost_later_leaves_what_was_said(tmp_path: Path) -> None:
    lost = SetupError("microphone: no sound comes from it")
    pilot = FakePilot({"station passage": [good("station passage")] * 3, "established": [lost]})
    assert len(check(pilot, tmp_path).phrases) == 1
    assert pilot.told[-1] == "Ended here, what was said counts. microphone: no sound comes from it"


def test_recogniser_without_a_scale_takes_no_profile() -> None:
    with pytest.raises(SetupError, match="another: nothing is known of its scores"):
        Room(None, None, None, "another")  # type: ignore[arg-type]


class FakeMouth:
    """Says at once."""

    def __init__(self, events: queue.SimpleQueue, *, is_broken: bool = False) -> None:
        self.events = events
        self.is_broken = is_broken
        self.did: list[Say | Sound] = []

    def do(self, action: Say | Sound) -> None:
        self.did.append(action)
        times = {"at_s": 1.0, "onset_s": 1.0}
        if self.is_broken:
            self.events.put(EdgeFailed(**times, edge="speaker", reason="gone"))
        elif isinstance(action, Say):
            self.events.put(PromptFinished(**times, prompt=action.prompt))


def test_coach_says_the_phrase_and_hears_the_pilot_only_after_it() -> None:
    events: queue.SimpleQueue = queue.SimpleQueue()
    mouth = FakeMouth(events)
    caller = Caller(mouth, events, lambda: 7.0)
    assert caller.say("next leg") == pytest.approx(7.15)
    assert caller.sound(Tone.HEARD) > 7.0
    assert [getattr(action, "text", "tone") for action in mouth.did] == ["next leg", "tone"]


def test_lost_speaker_is_not_waited_for_again() -> None:
    events: queue.SimpleQueue = queue.SimpleQueue()
    mouth = FakeMouth(events, is_broken=True)
    caller = Caller(mouth, events, lambda: 7.0)
    caller.say("next leg")
    caller.say("time")
    assert len(mouth.did) == 1


def made(*shifts: tuple[str, float], language: str = "en", least: float = -1.0) -> VoiceProfile:
    return VoiceProfile(
        version=1,
        made_utc=NOW,
        recogniser="fake",
        least=least,
        language=language,
        microphone=None,
        shifts=tuple(Shift(way=way, by=by) for way, by in shifts),
    )


@pytest.fixture
def checked(tmp_path: Path) -> Checked:
    script = {"station passage": [BAD] * 3, "passage": [good("station passage")] * 3, "established": [END]}
    return check(FakePilot(script), tmp_path)


def test_threshold_of_what_was_not_said_is_kept(checked: Checked) -> None:
    before = made(("time", -0.1), ("passage", -0.5))
    after = make_profile(checked, Settings(input_device="headset"), before, NOW)
    assert after.shifts == (Shift(way="station passage", by=-0.7), Shift(way="time", by=-0.1))
    assert (after.recogniser, after.least, after.microphone) == ("fake", -1.0, "headset")


@pytest.mark.parametrize(
    "before",
    [None, made(("time", -0.1), language="ko"), made(("time", -0.1), least=-2.0)],
    ids=["none", "another language", "another scale"],
)
def test_profile_of_another_scale_or_language_is_not_kept(
    checked: Checked, before: VoiceProfile | None
) -> None:
    after = make_profile(checked, Settings(), before, NOW)
    assert after.shifts == (Shift(way="station passage", by=-0.7),)
