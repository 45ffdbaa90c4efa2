"""Broken drill files, each with the exact message expected beside it (`broken/NAME.yaml`, `NAME.txt`)."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from coach.drill.compiler import compile_drill
from coach.errors import DrillError
from coach.store.documents import LARGEST_BYTES, read_document

BROKEN = Path(__file__).parent / "broken"
NAMES = sorted(path.stem for path in BROKEN.glob("*.txt"))
IN_LIBYAMLS_WORDS = {"no_yaml", "tab_indent", "endless_nesting"}
"""Files whose message quotes the parser; PyYAML's own parser words them differently."""


def compile_broken(name: str) -> None:
    source = read_document(BROKEN / f"{name}.yaml", DrillError, shown=f"{name}.yaml")
    compile_drill(source, {})


def test_every_broken_file_has_its_message() -> None:
    assert sorted([*(path.stem for path in BROKEN.glob("*.yaml")), "missing"]) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_broken_file_is_told_in_exactly_these_lines(name: str) -> None:
    if name in IN_LIBYAMLS_WORDS and not yaml.__with_libyaml__:
        pytest.skip("PyYAML without libyaml")
    with pytest.raises(DrillError) as raised:
        compile_broken(name)
    assert str(raised.value) == (BROKEN / f"{name}.txt").read_text("utf-8").rstrip("\n")
    assert raised.value.exit_status == 2


@pytest.mark.parametrize("name", NAMES)
def test_each_problem_is_one_printable_line(name: str) -> None:
    with pytest.raises(DrillError) as raised:
        compile_broken(name)
    assert all(str(problem).isprintable() for problem in raised.value.problems)


@pytest.mark.parametrize("name", NAMES)
def test_broken_file_is_refused_by_the_parser_without_libyaml_too(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    with pytest.raises(DrillError) as raised:
        compile_broken(name)
    if name not in IN_LIBYAMLS_WORDS:
        assert str(raised.value) == (BROKEN / f"{name}.txt").read_text("utf-8").rstrip("\n")


def test_file_of_50_mb_is_refused_by_its_size(tmp_path: Path) -> None:
    large = tmp_path / "large.yaml"
    with large.open("wb") as opened:
        opened.truncate(50_000_000)
    with pytest.raises(DrillError) as raised:
        read_document(large, DrillError, shown="large.yaml")
    assert str(raised.value) == f"large.yaml: expected at most {LARGEST_BYTES} bytes, got 50000000"
