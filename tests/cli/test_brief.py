"""`coach brief`: what is looked up, the rules of thumb, the request, containment, and reading aloud."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from coach.cli import aloud, brief, main
from coach.drill.containment import Containment
from coach.drill.plan import Plan
from tests.cli.test_station_morse import Voice

CONTAINED = Containment(
    flights=9_990,
    refused=10,
    radius_nm=4.71,
    largest_nm=4.88,
    sectors_nm=tuple(4.0 + k / 10 for k in range(8)),
)


@pytest.fixture(autouse=True)
def voice(monkeypatch: pytest.MonkeyPatch) -> Voice:
    spoken = Voice()
    spoken.said.clear()
    monkeypatch.setattr(aloud, "synthesiser_of", lambda settings, name: spoken)
    monkeypatch.setattr("coach.cli.output.console.width", 200)
    return spoken


@pytest.fixture
def limits(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """The strongest winds that a containment was asked for."""
    asked: list[float] = []

    def contain(plan: Plan, wind_up_to_kt: float) -> Containment:
        asked.append(wind_up_to_kt)
        return CONTAINED

    monkeypatch.setattr(brief, "contain_plan", contain)
    return asked


def run(capsys: pytest.CaptureFixture[str], *argv: str) -> tuple[int, list[str], str]:
    status = main(["brief", "eight-spoke", "--set", "spokes=1", *argv])
    captured = capsys.readouterr()
    return status, [line.rstrip() for line in captured.out.splitlines()], captured.err


def test_what_is_to_be_looked_up_is_asked_before_the_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "--wind", "250/20")
    asked = out[out.index("Look up") : out.index("Cautions")]
    assert any("Highest terrain or obstacle within 6 NM of the station" in line for line in asked)
    assert any("91.159, 91.179" in line for line in asked)
    assert "- Largest drift, 60 x wind / TAS: 13.3 degrees; exact 12.8, so 0.5 too much" in asked
    assert asked[-1].startswith(
        "To ATC: request traffic advisories, maneuvering within 6 miles of ________ VOR"
    )


def test_containment_is_worked_out_only_when_asked_for(
    capsys: pytest.CaptureFixture[str], limits: list[float]
) -> None:
    run(capsys)
    assert limits == []
    _, out, _ = run(capsys, "--containment")
    assert limits == [25.0]
    start = out.index("Containment")
    assert out[start + 1].startswith("- 99% of 9,990 flights stay within 4.8 NM of the station")
    assert out[start + 3] == "- 10 more could not be flown in their wind"
    assert out[start + 4].startswith(
        "- Winds from anywhere up to 25 kt, 80 to 100 kt TAS, a pilot who holds "
    )


def test_containment_is_in_the_json_too(capsys: pytest.CaptureFixture[str], limits: list[float]) -> None:
    _, out, _ = run(capsys, "--containment", "--wind-up-to", "15", "--json")
    assert limits == [15.0]
    assert json.loads("\n".join(out))["containment"]["radius_nm"] == 4.71
    _, out, _ = run(capsys, "--json")
    assert "containment" not in json.loads("\n".join(out))


def test_the_briefing_is_read_into_a_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], voice: Voice
) -> None:
    path = tmp_path / "read.wav"
    status, out, _ = run(capsys, "--aloud", "--audio", str(path))
    assert status == 0
    assert voice.said[0] == "Briefing. Eight spokes over a VOR."
    assert voice.said[-1] == "End of briefing."
    assert path.stat().st_size > 1000
    assert out[-1].startswith(f"Audio: {path}, ")


@pytest.mark.parametrize(
    ("argv", "problem"),
    [
        (("--audio", "read.wav"), "coach: --audio: expected --aloud beside it, got none"),
        (
            ("--aloud", "--audio", "read.mp3"),
            "coach: --audio: expected a file name ending in .wav, got 'read.mp3'",
        ),
        (
            ("--aloud", "--audio", "no-such-folder/read.wav"),
            "coach: --audio: expected a folder that is there, got 'no-such-folder'",
        ),
        (("--wind-up-to", "20"), "coach: --wind-up-to: expected --containment beside it, got none"),
    ],
)
def test_options_that_do_not_go_together_are_one_clear_line(
    capsys: pytest.CaptureFixture[str], argv: tuple[str, ...], problem: str
) -> None:
    status, out, err = run(capsys, *argv)
    assert (status, out, err.splitlines()) == (2, [], [problem])


def test_no_column_of_the_legs_is_cut_off_where_nobody_sees_the_width(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    assert main(["brief", "dme-arc"]) == 0
    assert "…" not in capsys.readouterr().out
