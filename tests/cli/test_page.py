"""`--page` on the command line: what is wrong in one line, and a rehearsal with its page."""

from __future__ import annotations

import json

import pytest

from coach.cli import main


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        (["--share"], "--share: expected --page with it, got none"),
        (["--page", "70000"], "expected a port, 0-65535, got '70000'"),
        (["--page", "some"], "expected a port, 0-65535, got 'some'"),
        (["--pace", "0"], "expected 0.1-100, got '0'"),
        (["--pace", "nan"], "expected 0.1-100, got 'nan'"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_what_is_wrong_is_told_in_one_line(
    options: list[str], expected: str, capsys: pytest.CaptureFixture[str]
):
    try:
        status = main(["rehearse", "eight-spoke", "--typed", *options])
    except SystemExit as end:
        status = end.code
    told = capsys.readouterr().err.strip()
    assert status == 2
    assert expected in told
    assert "\n" not in told


def test_rehearsal_with_its_page_is_the_same_rehearsal(capsys: pytest.CaptureFixture[str]):
    command = ["rehearse", "eight-spoke", "--set", "spokes=1", "--typed", "--json"]
    assert main([*command, "--page", "0", "--pace", "100"]) == 0
    watched = capsys.readouterr()
    assert main(command) == 0
    alone = json.loads(capsys.readouterr().out)
    assert json.loads(watched.out) | {"wall_s": 0.0} == alone | {"wall_s": 0.0}
    assert watched.err.splitlines()[0].startswith("Page, to watch:             http://127.0.0.1:")
