"""What the README shows is what the commands print, and what it names is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from coach.cli import main
from coach.store.drills import list_drills
from coach.store.phrases import read_phrases

README = (Path(__file__).parent.parent / "README.md").read_text()


SAMPLES = re.findall(r"<!-- sample: (.*?) -->\n```\n(.*?)```", README, re.DOTALL)


@pytest.mark.parametrize(("command", "sample"), SAMPLES, ids=[command for command, _ in SAMPLES])
def test_sample_is_what_the_command_prints(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, command: str, sample: str
):
    monkeypatch.setattr("coach.cli.output.console.width", 100)
    assert main(command.split()) == 0
    printed = "\n".join(line.rstrip() for line in capsys.readouterr().out.splitlines())
    assert printed.startswith(sample.rstrip())


def test_every_command_named_is_there(capsys: pytest.CaptureFixture[str]):
    named = set(re.findall(r"`coach ([a-z]+)", README))
    with pytest.raises(SystemExit):
        main(["--help"])
    out = capsys.readouterr().out
    assert named
    assert {command for command in named if f"    {command} " not in out} == set()


def test_words_and_keys_of_the_table_are_those_of_the_phrase_table():
    table = read_phrases()
    quoted = set(
        re.findall(
            r'"([a-zA-Z ]+)"', README[README.index("## In the cockpit") : README.index("A tone means")]
        )
    )
    known = {way for phrase in table.phrases for way in phrase.ways}
    assert quoted - known == set()


def test_sample_of_a_drill_file_is_what_the_commands_print(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
):
    monkeypatch.chdir(tmp_path)
    (sample,) = re.findall(r"<!-- drill files -->\n```\n(.*?)```", README, re.DOTALL)
    new, check, again = re.findall(r"\$ coach (.*)", sample)
    shown = [_print(capsys, new), _print(capsys, check)]
    path = tmp_path / "my-drill.yaml"
    path.write_text(path.read_text().replace("lasts: straight_s", "lasts: strait_s"))
    shown.append(_print(capsys, again))
    assert sample == "".join(shown)


def _print(capsys: pytest.CaptureFixture[str], command: str) -> str:
    main(command.split())
    captured = capsys.readouterr()
    return f"$ coach {command}\n{captured.out}{captured.err}"


def test_number_of_drills_is_told():
    assert f"`coach list` names {len(list_drills())} drills" in README
