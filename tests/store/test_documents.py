"""Reading YAML strictly: what is kept, and what is refused before or while it is read."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import yaml

from coach.drill.source import MappingNode, Node, Place, ScalarNode, SequenceNode, Source
from coach.errors import DrillError
from coach.store import documents
from coach.store.documents import DEEPEST, LARGEST_BYTES, MOST_VALUES, parse_document, read_document


def parse(text: str) -> Source:
    return parse_document(text, DrillError, name="drill", file="drill.yaml")


def scalar(text: str, line: int, column: int) -> ScalarNode:
    return ScalarNode(text=text, line=line, column=column)


def refusal(text: str) -> str:
    with pytest.raises(DrillError) as raised:
        parse(text)
    return str(raised.value)


def test_tree_keeps_lines_columns_and_order() -> None:
    assert parse("b: 1\na: [x, y]\n").root == MappingNode(
        line=1,
        column=1,
        entries=(
            (scalar("b", 1, 1), scalar("1", 1, 4)),
            (
                scalar("a", 2, 1),
                SequenceNode(items=(scalar("x", 2, 5), scalar("y", 2, 8)), line=2, column=4),
            ),
        ),
    )


@pytest.mark.parametrize(
    "text", ["no", "1:30", "010", "0x1F", "~", "null", "1e3", "2026-01-02", ".nan", "Yes"]
)
def test_scalar_stays_as_written(text: str) -> None:
    assert parse(text).root == scalar(text, 1, 1)


@pytest.mark.parametrize(
    ("text", "kept"), [('"a b"', "a b"), ("' a '", "a"), ("''", ""), (">-\n  a\n  b", "a b")]
)
def test_quotes_and_surrounding_space_fall_away(text: str, kept: str) -> None:
    root = parse(text).root
    assert isinstance(root, ScalarNode)
    assert root.text == kept


def test_byte_order_mark_is_no_part_of_the_first_key(tmp_path: Path) -> None:
    path = tmp_path / "marked.yaml"
    path.write_bytes(b"\xef\xbb\xbftitle: x\n")
    root = read_document(path, DrillError).root
    assert isinstance(root, MappingNode)
    assert root.entries[0][0].text == "title"


def test_faults_name_their_key_path_and_the_tree_is_still_there() -> None:
    source = parse("legs:\n  - turn: left\n  - turn: left\n    turn: right\n")
    assert [(fault.place, fault.got) for fault in source.faults] == [
        (Place(path="legs[2].turn", line=4, column=5), "'turn' again (first in line 3)")
    ]
    assert source.root == parse("legs:\n  - turn: left\n  - turn: left\n").root


def test_as_many_levels_as_allowed_are_read_and_one_more_is_not() -> None:
    node: Node = parse("[" * DEEPEST + "]" * DEEPEST).root
    assert isinstance(node, SequenceNode)
    assert refusal("[" * (DEEPEST + 1) + "]" * (DEEPEST + 1)) == (
        f"drill.yaml:1:{DEEPEST + 1}: expected at most {DEEPEST} levels, got one more"
    )


def test_as_many_values_as_allowed_are_read_and_one_more_is_not() -> None:
    root = parse("- x\n" * (MOST_VALUES - 1)).root
    assert isinstance(root, SequenceNode)
    assert len(root.items) == MOST_VALUES - 1
    assert refusal("- x\n" * MOST_VALUES) == (
        f"drill.yaml:{MOST_VALUES}:3: expected at most {MOST_VALUES} keys and values, got one more"
    )


def test_largest_file_is_read_and_one_byte_more_is_not(tmp_path: Path) -> None:
    path = tmp_path / "drill.yaml"
    path.write_text("x" * LARGEST_BYTES)
    assert read_document(path, DrillError).root == scalar("x" * LARGEST_BYTES, 1, 1)
    path.write_text("x" * (LARGEST_BYTES + 1))
    with pytest.raises(DrillError, match="expected at most 1000000 bytes, got 1000001"):
        read_document(path, DrillError)


def test_file_that_grew_after_it_was_looked_at_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "drill.yaml"
    path.write_text("x" * (LARGEST_BYTES + 1))
    monkeypatch.setattr(documents, "_check_status", lambda *_: None)
    with pytest.raises(DrillError, match="expected at most 1000000 bytes, got more"):
        read_document(path, DrillError)


@pytest.mark.parametrize("opening", ["[", "{", "- ", "? ", "a: ["])
@pytest.mark.parametrize("loader", ["libyaml", "python"])
def test_endless_nesting_is_refused_not_followed(
    opening: str, loader: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if loader == "python":
        monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    assert "expected" in refusal(opening * 20_000)


@pytest.mark.parametrize("loader", ["libyaml", "python"])
@pytest.mark.parametrize(
    "text",
    ['"\\UFFFFFFFF"', "%YAML 99999999999999999999.1\n--- a", '"\\x"', "a: b: c", "'"],
)
def test_text_that_is_no_yaml_is_refused_whatever_the_loader(
    text: str, loader: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if loader == "python":
        monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    assert "expected YAML, got a fault here" in refusal(text)


def test_pipe_is_refused_without_waiting_for_it(tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("no named pipes on this system")
    os.mkfifo(tmp_path / "pipe.yaml")
    with pytest.raises(DrillError, match="expected a file, got a device or pipe"):
        read_document(tmp_path / "pipe.yaml", DrillError)


def test_file_name_with_a_null_is_refused() -> None:
    with pytest.raises(DrillError, match="expected a file name, got a null character"):
        read_document(Path("a\0b.yaml"), DrillError)
