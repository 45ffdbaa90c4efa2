"""Reads a YAML file into a tree of nodes, strictly: every scalar as written, with its line and column.

Never builds an object, follows an alias, takes a tag or evaluates anything from a file.
"""

from __future__ import annotations

import stat
from dataclasses import dataclass, field
from pathlib import Path

import yaml

from coach.drill.source import MappingNode, Node, ScalarNode, SequenceNode, Source
from coach.errors import CoachError, Problem

LARGEST_BYTES = 1_000_000
DEEPEST = 20
"""Lists and mappings within one another."""


def read_document(path: Path, error: type[CoachError], *, shown: str | None = None) -> Source:
    """One YAML file's tree; `shown` is what problems call the file (default: the path as given).

    Raises `error` with every problem found: no such file, not a file, too large, not UTF-8, not YAML,
    more than one document, an alias, an anchor, a tag, a key twice, nested too deep.
    """
    file = shown or str(path)
    text = _read_text(path, file, error)
    return Source(name=path.stem, file=file, root=parse_document(text, file, error))


def _read_text(path: Path, file: str, error: type[CoachError]) -> str:
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):
            got = "a directory" if stat.S_ISDIR(status.st_mode) else "a device or pipe"
            raise error(Problem(where=file, expected="a file", got=got))
        if status.st_size > LARGEST_BYTES:
            raise error(_too_large(file, f"{status.st_size} bytes"))
        with path.open("rb") as opened:
            content = opened.read(LARGEST_BYTES + 1)
    except OSError as exc:
        expected = "a file that can be read"
        raise error(Problem(where=file, expected=expected, got=(exc.strerror or "none").lower())) from exc
    except ValueError as exc:
        raise error(Problem(where=file, expected="a file name", got="one with a null character")) from exc
    if len(content) > LARGEST_BYTES:
        raise error(_too_large(file, "more"))
    return _decode(content, file, error)


def _too_large(file: str, got: str) -> Problem:
    return Problem(where=file, expected=f"a file of at most {LARGEST_BYTES} bytes", got=got)


def _decode(content: bytes, file: str, error: type[CoachError]) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        before = content[: exc.start]
        line = before.count(b"\n") + 1
        column = exc.start - (before.rfind(b"\n") + 1) + 1
        got = f"the byte 0x{content[exc.start]:02x}"
        raise error(Problem(where=f"{file}:{line}:{column}", expected="UTF-8", got=got)) from exc


def parse_document(text: str, file: str, error: type[CoachError]) -> Node:
    """The tree of one YAML document; an empty scalar where nothing is written.

    Raises `error` as `read_document` does, for what can be wrong with a text.
    """
    builder = _Builder(file=file)
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        for event in yaml.parse(text, Loader=loader):
            builder.take(event)
    except _TooDeepError:
        pass
    except yaml.YAMLError as exc:
        builder.problems.append(_translate(exc, file))
    if builder.problems:
        raise error(*builder.problems)
    return builder.root or ScalarNode(text="", line=1, column=1)


def _translate(exc: yaml.YAMLError, file: str) -> Problem:
    mark = getattr(exc, "problem_mark", None)
    where = f"{file}:{mark.line + 1}:{mark.column + 1}" if mark else file
    said = getattr(exc, "problem", None) or getattr(exc, "reason", None) or "something else"
    return Problem(where=where, expected="YAML", got=" ".join(str(said).split()))


class _TooDeepError(Exception):
    """Nothing below is worth reading."""


@dataclass(slots=True, kw_only=True)
class _Open:
    """A list or mapping that is still being read."""

    is_mapping: bool
    line: int
    column: int
    nodes: list[Node] = field(default_factory=list)
    """Items, or keys and values in turn."""


@dataclass(slots=True, kw_only=True)
class _Builder:
    """Takes the parser's events one by one; no recursion, so no depth can overflow."""

    file: str
    problems: list[Problem] = field(default_factory=list)
    open: list[_Open] = field(default_factory=list)
    root: Node | None = None
    documents: int = 0

    def take(self, event: yaml.Event) -> None:
        """Take the next event."""
        if isinstance(event, yaml.DocumentStartEvent):
            self._begin_document(event)
        elif isinstance(event, yaml.AliasEvent):
            self._add(event, "values written out", f"the alias '*{event.anchor}'")
            self._put(self._scalar("", event))
        elif isinstance(event, yaml.NodeEvent):
            self._check_marks(event)
            self._begin(event)
        elif isinstance(event, yaml.CollectionEndEvent):
            self._put(self._close(self.open.pop()))

    def _begin_document(self, event: yaml.DocumentStartEvent) -> None:
        self.documents += 1
        if self.documents == 2:
            self._add(event, "one document", "a second")

    def _begin(self, event: yaml.NodeEvent) -> None:
        if isinstance(event, yaml.ScalarEvent):
            return self._put(self._scalar(event.value.strip(), event))
        if len(self.open) == DEEPEST:
            self._add(event, f"at most {DEEPEST} levels", "one more")
            raise _TooDeepError
        line, column = _spot(event)
        is_mapping = isinstance(event, yaml.MappingStartEvent)
        self.open.append(_Open(is_mapping=is_mapping, line=line, column=column))
        return None

    def _check_marks(self, event: yaml.NodeEvent) -> None:
        if event.anchor is not None:
            self._add(event, "values written out", f"the anchor '&{event.anchor}'")
        tag = getattr(event, "tag", None)
        if tag is not None:
            self._add(event, "no tag", repr(tag[:60]))

    def _put(self, node: Node) -> None:
        if not self.open:
            self.root = self.root or node
            return
        inside = self.open[-1]
        if inside.is_mapping and len(inside.nodes) % 2 == 0:
            self._check_key(node, inside)
        inside.nodes.append(node)

    def _check_key(self, key: Node, inside: _Open) -> None:
        if not isinstance(key, ScalarNode):
            self._add_at(key.line, key.column, "a key of one word", "a list or mapping")
        elif key.text == "<<":
            self._add_at(key.line, key.column, "values written out", "the merge key '<<'")
        else:
            self._check_twice(key, inside)

    def _check_twice(self, key: ScalarNode, inside: _Open) -> None:
        for earlier in inside.nodes[::2]:
            if isinstance(earlier, ScalarNode) and earlier.text == key.text:
                got = f"{key.text[:40]!r} again (first in line {earlier.line})"
                self._add_at(key.line, key.column, "each key once", got)
                return

    def _close(self, done: _Open) -> Node:
        if not done.is_mapping:
            return SequenceNode(items=tuple(done.nodes), line=done.line, column=done.column)
        pairs = zip(done.nodes[::2], done.nodes[1::2], strict=True)
        entries = tuple((key, value) for key, value in pairs if isinstance(key, ScalarNode))
        return MappingNode(entries=entries, line=done.line, column=done.column)

    def _scalar(self, text: str, event: yaml.Event) -> ScalarNode:
        line, column = _spot(event)
        return ScalarNode(text=text, line=line, column=column)

    def _add(self, event: yaml.Event, expected: str, got: str) -> None:
        self._add_at(*_spot(event), expected, got)

    def _add_at(self, line: int, column: int, expected: str, got: str) -> None:
        self.problems.append(Problem(where=f"{self.file}:{line}:{column}", expected=expected, got=got))


def _spot(event: yaml.Event) -> tuple[int, int]:
    mark = event.start_mark
    return (mark.line + 1, mark.column + 1) if mark else (1, 1)
