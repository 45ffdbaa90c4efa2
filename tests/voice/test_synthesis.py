import json
import sys
from pathlib import Path

import numpy as np
import pytest

from coach.errors import SetupError
from coach.voice import synthesis
from coach.voice.synthesis import (
    Catalogue,
    Synthesiser,
    check_voice,
    default_pilot_voice,
    default_voices,
)

FAKE_CHILD = Path(__file__).with_name("fake_child.py")

OFFERED = Catalogue(
    engine="fake 1",
    voices=("aa/en-x", "aa/en-y", "aa/qq"),
    english=("aa/en-x", "aa/en-y"),
    variants=("f1", "m1"),
)


@pytest.fixture(autouse=True)
def _forget_catalogues():
    synthesis.describe.cache_clear()


def make(folder, mood="speaks", *, voice="en-x", cached=True, deadline_s=30.0, **settings):
    child = (sys.executable, str(FAKE_CHILD), mood, str(folder))
    cache_dir = folder / "cache" if cached else None
    return Synthesiser(voice, cache_dir=cache_dir, child=child, deadline_s=deadline_s, **settings)


def said(folder):
    lines = (folder / "asked.jsonl").read_text().splitlines()
    return [request["text"] for request in map(json.loads, lines) if request["do"] == "speak"]


class TestRender:
    def test_silence_around_the_words_is_gone(self, tmp_path):
        assert make(tmp_path).render("Left").tolist() == [1_040] * 4_800

    def test_request_names_voice_and_rate(self, tmp_path):
        make(tmp_path, voice="en-y+f1", rate_wpm=140).render("Left")
        request = json.loads((tmp_path / "asked.jsonl").read_text().splitlines()[-1])
        assert (request["voice"], request["rate_wpm"], request["text"]) == ("aa/en-y+f1", 140, "Left")

    def test_full_disk_is_a_voice_that_is_gone(self, tmp_path, monkeypatch):
        def refuse(**_settings):
            raise OSError(28, "No space left on device")

        synthesiser = make(tmp_path)
        monkeypatch.setattr(synthesis.tempfile, "TemporaryDirectory", refuse)
        with pytest.raises(SetupError, match="'Left' was not rendered \\(No space left on device\\)"):
            synthesiser.render("Left")

    def test_text_is_rendered_once(self, tmp_path):
        synthesiser = make(tmp_path)
        for _ in range(3):
            synthesiser.render("Left")
        assert said(tmp_path) == ["Left"]

    def test_next_session_takes_it_from_disk(self, tmp_path):
        make(tmp_path).render("Left")
        synthesis.describe.cache_clear()
        assert np.array_equal(make(tmp_path).render("Left"), make(tmp_path).render("Left"))
        assert said(tmp_path) == ["Left"]

    @pytest.mark.parametrize("change", [{"voice": "en-y"}, {"rate_wpm": 170}], ids=["voice", "rate"])
    def test_other_setting_is_rendered_anew(self, tmp_path, change):
        make(tmp_path).render("Left")
        make(tmp_path, **change).render("Left")
        assert said(tmp_path) == ["Left", "Left"]

    def test_other_volume_takes_the_same_sound_scaled(self, tmp_path):
        make(tmp_path).render("Left")
        assert make(tmp_path, volume=0.5).render("Left").tolist() == [520] * 4_800
        assert said(tmp_path) == ["Left"]


class TestReady:
    def test_prepared_text_is_ready(self, tmp_path):
        synthesiser = make(tmp_path)
        synthesiser.prepare(["Left", "Right"])
        assert np.array_equal(synthesiser.find_ready("Right"), synthesiser.render("Right"))

    def test_other_text_is_not_ready_and_starts_no_child(self, tmp_path):
        synthesiser = make(tmp_path)
        synthesiser.prepare(["Left"])
        assert synthesiser.find_ready("Right") is None
        assert said(tmp_path) == ["Left"]

    def test_nothing_is_ready_before_the_voice_is_known(self, tmp_path):
        assert make(tmp_path).find_ready("Left") is None
        assert not (tmp_path / "asked.jsonl").exists()


class TestPrepare:
    def test_each_text_is_rendered_once(self, tmp_path):
        make(tmp_path).prepare(["Left", "Right", "Left"])
        assert sorted(said(tmp_path)) == ["Left", "Right"]

    def test_sounds_go_with_their_texts(self, tmp_path):
        synthesiser = make(tmp_path)
        texts = ["a" * n for n in range(1, 9)]
        synthesiser.prepare(texts)
        assert [synthesiser.render(text)[0] for text in texts] == [1_000 + 10 * len(text) for text in texts]

    def test_prepared_drill_needs_no_child_again(self, tmp_path):
        make(tmp_path).prepare(["Left", "Right"])
        make(tmp_path).prepare(["Right", "Left"])
        assert len(said(tmp_path)) == 2


class TestTrouble:
    def test_hung_child_is_ended_and_told(self, tmp_path):
        with pytest.raises(
            SetupError, match=r"voice: the speech process hung and was ended after 0\.1 s; install"
        ):
            make(tmp_path, "hangs", deadline_s=0.1).render("Left")

    def test_dead_child_is_told_with_its_last_line(self, tmp_path):
        with pytest.raises(
            SetupError, match=r"ended with status 9 \(native library: no data\); install the voice"
        ):
            make(tmp_path, "dies").render("Left")

    def test_child_that_dies_once_is_replaced(self, tmp_path):
        assert make(tmp_path, "dies once").render("Left").size == 4_800

    def test_output_that_is_no_reply_is_told(self, tmp_path):
        with pytest.raises(SetupError, match="the speech process ended with status 0"):
            make(tmp_path, "babbles").render("Left")

    def test_missing_program_is_told(self):
        with pytest.raises(SetupError, match="the speech process did not start"):
            Synthesiser("en-x", child=("/no/such/python",)).render("Left")

    def test_file_that_was_not_written_is_told(self, tmp_path):
        with pytest.raises(SetupError, match="voice: 'Left' was not rendered"):
            make(tmp_path, "writes nothing").render("Left")

    def test_silent_sound_is_told(self, tmp_path):
        with pytest.raises(SetupError, match="voice: 'Left' came out silent; choose another voice"):
            make(tmp_path, "is silent").render("Left")

    def test_prepare_tells_the_first_failure(self, tmp_path):
        with pytest.raises(SetupError, match="came out silent"):
            make(tmp_path, "is silent").prepare(["Left", "Right"])

    def test_remedy_names_package_and_system_package(self, tmp_path):
        with pytest.raises(SetupError, match=r"pip install espeakng-loader.*sudo apt install libespeak-ng1"):
            make(tmp_path, "dies").prepare(["Left"])


class TestVoice:
    @pytest.mark.parametrize(
        ("asked", "found"),
        [
            ("aa/en-x", "aa/en-x"),
            ("en-y", "aa/en-y"),
            ("EN-Y", "aa/en-y"),
            ("en-y+f1", "aa/en-y+f1"),
            ("en-z", None),
            ("en-y+f9", None),
            ("en-y+", None),
            ("", None),
        ],
    )
    def test_voice_is_found_by_name(self, asked, found):
        assert OFFERED.find_voice(asked) == found

    @pytest.mark.parametrize(
        ("asked", "message"),
        [
            ("en-z", "voice: expected a voice, such as en-y, en-x, got 'en-z'"),
            ("zzz", "voice: expected a voice, such as en-x, en-y, qq, got 'zzz'"),
            ("en-x+f2", "voice: expected a variant of en-x, such as f1, m1, got 'en-x+f2'"),
        ],
    )
    def test_unknown_voice_is_told_with_the_nearest(self, asked, message):
        with pytest.raises(SetupError) as caught:
            check_voice(asked, OFFERED)
        assert str(caught.value) == message

    def test_unknown_voice_is_never_rendered_in_another(self, tmp_path):
        with pytest.raises(SetupError, match="voice: expected a voice"):
            make(tmp_path, voice="nobody").render("Left")
        assert said(tmp_path) == []

    def test_coach_and_pilot_differ(self):
        coach, pilot = default_voices(OFFERED)
        assert {coach, pilot} == {"aa/en-x", "aa/en-y"}

    def test_preferred_pair_is_taken_where_it_is_there(self):
        offered = Catalogue(
            engine="e", voices=("gmw/en", "gmw/en-us"), english=("gmw/en", "gmw/en-us"), variants=("f3",)
        )
        assert default_voices(offered) == ("gmw/en-us+f3", "gmw/en-us")

    def test_one_english_voice_is_not_enough(self):
        offered = Catalogue(engine="e", voices=("en-x", "qq"), english=("en-x",), variants=())
        with pytest.raises(SetupError, match="voices: expected two English voices, got 1"):
            default_voices(offered)

    def test_pilot_speaks_the_language_he_is_asked_to(self):
        assert default_pilot_voice("en", OFFERED) == default_voices(OFFERED)[1]
        assert default_pilot_voice("qq", OFFERED) == "aa/qq"

    def test_language_without_a_voice_is_told(self):
        with pytest.raises(SetupError, match="pilot_voice: expected a voice for language xx, got none"):
            default_pilot_voice("xx", OFFERED)

    def test_no_voice_named_is_the_coachs_own(self):
        assert check_voice(None, OFFERED) == default_voices(OFFERED)[0]
