"""`coach check --voice` as typed: what is shown, listed, deleted and refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from coach.cli import main, voice_check
from coach.cli.voice_check import TerminalPrompter
from coach.errors import SetupError
from coach.session.voice_profile import Said, Scale, Take, judge
from coach.store.voice_profiles import read_profile, voice_folder, write_recording
from coach.voice_check import Checked

SCALE = Scale(
    recogniser="fake",
    least=-1.0,
    least_margin=0.5,
    drop=0.5,
    most_raised=0.0,
    attracting=frozenset(),
    floors={"passage": -9.0},
)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr("coach.cli.output.console.width", 100)
    return voice_folder()


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, list[str], str]:
    status = main(("check", *arguments))
    captured = capsys.readouterr()
    return status, captured.out.splitlines(), captured.err


def ways(*said: tuple[str, tuple[Take, ...]], phrase: str) -> tuple:
    return tuple(judge(Said(way=way, phrase=phrase, takes=takes), SCALE) for way, takes in said)


GOOD = Take(understood="station passage", score=3.0, margin=3.0)
WEAK = Take(understood=None, reason="no phrase fits", score=-1.25, margin=3.0)
CHECKED = Checked(
    recogniser="fake",
    scale=SCALE,
    phrases=(
        ways(("passage", (WEAK, WEAK, GOOD)), ("station passage", (GOOD,) * 3), phrase="station passage"),
        ways(("time", (Take(understood=None, reason="no phrase fits"),) * 3), phrase="time"),
        ways(("established", (Take(understood="established", score=4.0),) * 3), phrase="established"),
    ),
    cabin_rms=0.01,
)


@pytest.fixture
def says(monkeypatch: pytest.MonkeyPatch) -> Callable[[Checked | Exception], None]:
    """What the pilot's saying of the phrases comes to."""

    def set_result(result: Checked | Exception) -> None:
        def check(*_: object) -> Checked:
            if isinstance(result, Exception):
                raise result
            return result

        monkeypatch.setattr(voice_check, "check_voice", check)

    return set_result


def test_report_names_weak_phrases_and_stronger_ways(capsys, says, folder: Path) -> None:
    says(CHECKED)
    status, out, _ = run(capsys, "--voice")
    text = "\n".join(out)
    assert status == 0
    assert "2 of 3 phrases are weak with this voice and microphone." in out
    assert "- say 'station passage' rather than 'passage': 3 of 3 against 1 of 3" in out
    assert "- 'time': there is no other way of saying it; the key t always works" in out
    assert f"{'passage':<28}     1 of 3     -0.25     -0.75  not understood (no phrase fits)" in out
    assert f"{'established':<28}     3 of 3     +5.00     usual" in out
    assert "1 threshold moved" in text
    profile = read_profile(folder)
    assert profile is not None
    assert [(shift.way, shift.by) for shift in profile.shifts] == [("passage", -0.75)]


def test_report_as_json_is_alone_on_standard_output(capsys, says) -> None:
    says(CHECKED)
    status, out, _ = run(capsys, "--voice", "--json")
    shown = json.loads("\n".join(out))
    assert status == 0
    assert [phrase["say_instead"] for phrase in shown["phrases"]] == ["station passage", None, None]
    assert [phrase["is_weak"] for phrase in shown["phrases"]] == [True, True, False]
    assert shown["phrases"][0]["ways"][0]["shift"] == -0.75
    assert Path(shown["profile"]).is_file()


def test_nothing_said_leaves_no_profile(capsys, says, folder: Path) -> None:
    says(Checked(recogniser="fake", scale=SCALE, phrases=(), cabin_rms=0.01))
    status, out, _ = run(capsys, "--voice")
    assert (status, out[-1]) == (0, "Nothing was said; the profile stays as it was.")
    assert read_profile(folder) is None


def test_lack_is_one_line(capsys, says) -> None:
    says(SetupError("microphone: silent; unmute it"))
    status, _, err = run(capsys, "--voice")
    assert (status, err) == (3, "coach: microphone: silent; unmute it\n")


def test_pilot_is_told_first_where_the_recordings_are_and_how_they_go(capsys, says, folder: Path) -> None:
    says(CHECKED)
    _, out, _ = run(capsys, "--voice")
    told = next(text for text in out if "stay on this machine" in text)
    assert str(folder / "takes") in told
    assert "`coach check --voice --delete recordings`" in told


def test_what_is_kept_is_listed_and_deleted_by_one_command(capsys, says, folder: Path) -> None:
    says(CHECKED)
    run(capsys, "--voice")
    path = write_recording(folder, "say again", 1, np.zeros(16_000, np.int16))
    _, out, _ = run(capsys, "--voice", "--list")
    assert out[0] == f" 1.0 s  {path}"
    assert out[1] == "1 recording; `coach check --voice --delete recordings` deletes them"
    assert "1 threshold moved" in out[2]
    _, listed, _ = run(capsys, "--voice", "--list", "--json")
    assert json.loads("\n".join(listed))["recordings"] == [{"path": str(path), "seconds": 1.0}]
    assert run(capsys, "--voice", "--delete", "recordings")[:2] == (0, ["1 recording deleted"])
    assert not path.exists()
    assert read_profile(folder) is not None
    removed = run(capsys, "--voice", "--delete", "profile")
    assert removed[:2] == (0, ["Voice profile removed: the usual thresholds are used"])
    assert run(capsys, "--voice", "--list")[1] == [
        "0 recordings",
        "No voice profile: the usual thresholds are used.",
    ]


def test_broken_profile_can_be_removed(capsys, folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder / "profile.json").write_text("broken")
    status, _, err = run(capsys, "--voice", "--list")
    assert status == 2
    assert "got no JSON; `coach check --voice --delete profile` removes the profile" in err
    assert run(capsys, "--voice", "--delete", "profile")[0] == 0


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--list",), "--list: expected --voice before it, got none"),
        (("--delete", "profile"), "--delete: expected --voice before it, got none"),
        (
            ("--voice", "--list", "--delete", "profile"),
            "--list: expected to stand without --delete, got both",
        ),
    ],
)
def test_option_without_its_sense_is_refused(capsys, arguments: tuple[str, ...], says: str) -> None:
    assert run(capsys, *arguments) == (2, [], f"coach: {says}\n")


class FakeKeys:
    """Keys as a test presses them; None: the terminal is gone."""

    def __init__(self, *pressed: tuple[str, ...] | None) -> None:
        self.pressed = list(pressed)

    def read(self, timeout_s: float | None) -> tuple[str, ...]:
        assert timeout_s == 0.0
        keys = self.pressed.pop(0)
        if keys is None:
            raise OSError
        return keys


def test_only_keys_that_mean_something_are_found() -> None:
    keys = FakeKeys((), ("x",), ("x", "S"), ("q",), None)
    prompter = TerminalPrompter(lambda _: None, keys)  # type: ignore[arg-type]
    assert [prompter.find_key() for _ in range(6)] == [None, None, "s", "q", None, None]


def test_each_take_is_shown_on_a_line() -> None:
    shown: list[str] = []
    prompter = TerminalPrompter(shown.append, None)
    prompter.ask("passage", n=2, of=40, is_other=True)
    prompter.show(GOOD, n=1, is_clipped=False)
    prompter.show(WEAK, n=2, is_clipped=True)
    assert shown == [
        "  2/40  Say: passage  (weak; is this way stronger?)",
        "        1  understood: station passage",
        "        2  not understood: no phrase fits; too loud, turn the microphone down",
    ]
