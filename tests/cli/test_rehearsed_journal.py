"""`coach rehearse --journal`: kept in the folder asked for, gone on with where it was cut."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.cli.main import main
from coach.session.journal import decode_line
from coach.store.journals import read_journal

TYPED = ("rehearse", "eight-spoke", "--typed", "--set", "spokes=1")


def rehearse(folder: Path, *more: str) -> int:
    return main([*TYPED, "--journal", str(folder), *more])


def only(folder: Path) -> Path:
    (path,) = folder.iterdir()
    return path


@pytest.fixture
def flown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> tuple[Path, bytes, list[str]]:
    assert rehearse(tmp_path) == 0
    path = only(tmp_path)
    return path, path.read_bytes(), capsys.readouterr().out.splitlines()


def test_whole_rehearsal_is_kept(flown: tuple[Path, bytes, list[str]]) -> None:
    journal = read_journal(flown[0]).journal
    assert journal.is_closed
    assert journal.header.drill == "eight-spoke"
    assert len(journal.steps) > 20


def test_cut_anywhere_it_is_gone_on_with_to_the_same_journal(
    flown: tuple[Path, bytes, list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    path, content, said = flown
    whole = read_journal(path).journal.steps
    first = len(content.splitlines(keepends=True)[0])
    for cut in range(first, len(content) - 40, len(content) // 12):
        path.write_bytes(content[:cut])
        assert rehearse(path.parent, "--resume") == 0
        journal = read_journal(path).journal
        # Not byte by byte: a busy machine's disk is late, and that is marked.
        assert journal.steps == whole
        assert journal.is_closed
        again = [line for line in capsys.readouterr().out.splitlines() if not line.startswith("Flown:")]
        assert again == [line for line in said if not line.startswith("Flown:")][-len(again) :]


def test_another_rehearsal_is_refused_and_the_journal_left_alone(
    flown: tuple[Path, bytes, list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    path, content, _ = flown
    lines = content.splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:-1]))
    assert rehearse(path.parent, "--resume", "--seed", "7") == 2
    assert "expected the rehearsal of this drill with these options" in capsys.readouterr().err
    assert path.read_bytes().startswith(b"".join(lines[:-1]))
    assert {type(decode_line(line.decode())).__name__ for line in path.read_bytes().splitlines()} >= {
        "Header"
    }


def test_resume_without_a_folder_is_one_clear_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*TYPED, "--resume"]) == 2
    assert capsys.readouterr().err == "coach: --resume: expected --journal FOLDER with it, got none\n"


def test_nothing_to_resume_is_one_clear_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert rehearse(tmp_path, "--resume") == 2
    assert "expected a flight that was broken off, got none" in capsys.readouterr().err
