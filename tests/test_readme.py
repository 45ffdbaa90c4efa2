"""What the README shows is what the commands print, and what it names is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from coach.cli import main
from coach.store.phrases import read_phrases

README = (Path(__file__).parent.parent / "README.md").read_text()


def test_sample_of_a_briefing_is_what_the_command_prints(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("coach.cli.output.console.width", 100)
    command, sample = re.findall(r"<!-- sample: (.*?) -->\n```\n(.*?)```", README, re.DOTALL)[0]
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
