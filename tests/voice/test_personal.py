"""Personal thresholds: what they let through and hold back, and what they never touch."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from coach.session.voice_profile import Scale, Shift, VoiceProfile
from coach.voice import personal
from coach.voice.personal import PERSONAL, PersonalRecogniser
from coach.voice.recogniser import Reading, Samples, Ways

SOUND = np.zeros(16_000, np.float32)
SCALE = Scale(
    recogniser="fake",
    least=-1.0,
    least_margin=0.5,
    drop=0.2,
    most_raised=0.5,
    attracting=frozenset({"next leg"}),
    floors={"next leg": -1.6, "time": -1.0},
)
WAYS: Ways = (("Next leg", "next leg"), ("time", "time"), ("passage", "station passage"))


class FakeRecogniser:
    """Reads what it is told to."""

    name = "fake"

    def __init__(self, reading: Reading) -> None:
        self.reading = reading

    def listen_for(self, ways: Ways) -> None:
        self.ways = ways

    def find_unknown_words(self, ways: Ways) -> tuple[str, ...]:
        return ("zzyzx",)

    def read(self, audio: Samples, voice_s: float) -> Reading:
        return self.reading


@pytest.fixture(autouse=True)
def scale(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(personal, "find_scale", lambda name: SCALE if name == "fake" else None)


def profile(*shifts: tuple[str, float], recogniser: str = "fake", least: float = -1.0) -> VoiceProfile:
    return VoiceProfile(
        version=1,
        made_utc=datetime(2026, 1, 1, tzinfo=UTC),
        recogniser=recogniser,
        least=least,
        language="en",
        microphone=None,
        shifts=tuple(Shift(way=way, by=by) for way, by in shifts),
    )


def read(reading: Reading, made: VoiceProfile | None) -> Reading:
    recogniser = PersonalRecogniser(FakeRecogniser(reading), made)  # type: ignore[arg-type]
    recogniser.listen_for(WAYS)
    return recogniser.read(SOUND, 0.5)


def unsure(
    score: float, *, way: str = "Next leg", reason: str = "no phrase fits", margin: float = 2.0
) -> Reading:
    return Reading(phrase=None, way=way, score=score, reason=reason, margin=margin)


def sure(score: float, *, way: str = "Next leg", phrase: str = "next leg") -> Reading:
    return Reading(phrase=phrase, way=way, score=score, margin=2.0)


def test_without_a_profile_nothing_changes() -> None:
    assert read(unsure(-1.2), None) == unsure(-1.2)


def test_weak_phrase_of_this_pilot_is_believed() -> None:
    made = profile(("next leg", -0.4))
    assert read(unsure(-1.3), made).phrase == "next leg"
    assert read(unsure(-1.3), made).reason == ""
    assert read(unsure(-1.5), made).phrase is None


def test_threshold_is_never_below_the_floor_whatever_the_profile_says() -> None:
    made = profile(("next leg", -9.0), ("time", -9.0), ("passage", -9.0))
    assert read(unsure(-1.59), made).phrase == "next leg"
    assert read(unsure(-1.61), made).phrase is None
    assert read(unsure(-1.01, way="time"), made).phrase is None
    # Nothing was measured for it: never lowered.
    assert read(unsure(-1.01, way="passage"), made).phrase is None


def test_threshold_is_raised_no_further_than_the_scale_allows() -> None:
    made = profile(("next leg", 9.0))
    refused = read(sure(-0.6), made)
    assert (refused.phrase, refused.reason) == (None, "too unsure for this pilot")
    assert read(sure(-0.4), made).phrase == "next leg"


@pytest.mark.parametrize(
    "refused",
    [
        unsure(-1.2, reason="two phrases fit"),
        unsure(-1.2, reason="longer than the phrase"),
        unsure(-1.2, margin=0.4),
    ],
    ids=["two fit", "too long", "another close behind"],
)
def test_what_was_refused_for_more_than_its_score_stays_refused(refused: Reading) -> None:
    assert read(refused, profile(("next leg", -0.4))) == refused


@pytest.mark.parametrize(
    "made",
    [profile(("next leg", -0.4), recogniser="another"), profile(("next leg", -0.4), least=-1.5)],
    ids=["another recogniser", "another threshold"],
)
def test_profile_made_on_another_scale_is_not_used(made: VoiceProfile) -> None:
    assert read(unsure(-1.2), made) == unsure(-1.2)
    assert PERSONAL not in PersonalRecogniser(FakeRecogniser(sure(0)), made).name  # type: ignore[arg-type]


def test_name_says_that_a_profile_is_in_use() -> None:
    recogniser = PersonalRecogniser(FakeRecogniser(sure(0)), profile(("next leg", -0.4)))  # type: ignore[arg-type]
    assert recogniser.name == "fake, personal thresholds"


def test_reading_is_told_once() -> None:
    recogniser = PersonalRecogniser(FakeRecogniser(sure(0.0)), None)  # type: ignore[arg-type]
    assert recogniser.take_reading() is None
    recogniser.listen_for(WAYS)
    recogniser.read(SOUND, 0.5)
    assert recogniser.take_reading() == sure(0.0)
    assert recogniser.take_reading() is None
