"""Reads a YAML file into a tree of nodes, strictly: every scalar as written, with its line and column.

Never builds an object, follows an alias, takes a tag or evaluates anything from a file.
"""

from __future__ import annotations

import re
import stat
from dataclasses import dataclass, field
from pathlib import Path

import yaml

from coach.drill.source import (
    Fault,
    MappingNode,
    Node,
    Place,
    ScalarNode,
    SequenceNode,
    Source,
    join_path,
    shorten,
)
from coach.errors import CoachError, Problem

LARGEST_BYTES = 1_000_000
DEEPEST = 20
"""Lists and mappings within one another."""

MOST_VALUES = 10_000
"""Keys, values, lists and mappings of one file."""

UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What YAML 1.1 does not take (section 4.1)."""


def read_document(path: Path, error: type[CoachError], *, shown: str | None = None) -> Source:
    """One YAML file's tree; `shown` is what problems call the file (default: the path as given).

    A key twice, an alias, an anchor, a tag, a second document are faults of the `Source`. Raises `error`
    where there is no tree: no such file, not a file, too large, not UTF-8, not YAML, nested too deep.
    """
    file = shown or str(path)
    return parse_document(_read_text(path, file, error), error, name=path.stem, file=file)


def _read_text(path: Path, file: str, error: type[CoachError]) -> str:
    try:
        _check_status(path, file, error)
        with path.open("rb") as opened:
            content = opened.read(LARGEST_BYTES + 1)
    except OSError as exc:
        got = (exc.strerror or "an error of the disk").lower()
        raise error(Problem(where=file, expected="a file that can be read", got=got)) from exc
    except ValueError as exc:
        raise error(Problem(where=repr(file), expected="a file name", got="a null character")) from exc
    if len(content) > LARGEST_BYTES:
        raise error(_too_large(file, "more"))
    return _decode(content, file, error)


def _check_status(path: Path, file: str, error: type[CoachError]) -> None:
    """Refuse by what the system says of the file, before any of it is read."""
    status = path.stat()
    if not stat.S_ISREG(status.st_mode):
        got = "a directory" if stat.S_ISDIR(status.st_mode) else "a device or pipe"
        raise error(Problem(where=file, expected="a file", got=got))
    if status.st_size > LARGEST_BYTES:
        raise error(_too_large(file, f"{status.st_size}"))


def _too_large(file: str, got: str) -> Problem:
    return Problem(where=file, expected=f"at most {LARGEST_BYTES} bytes", got=got)


def _decode(content: bytes, file: str, error: type[CoachError]) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        before = content[: exc.start]
        line, column = before.count(b"\n") + 1, exc.start - before.rfind(b"\n")
        got = f"the byte 0x{content[exc.start]:02x}"
        raise error(Problem(where=f"{file}:{line}:{column}", expected="UTF-8", got=got)) from exc


def parse_document(text: str, error: type[CoachError], *, name: str, file: str) -> Source:
    """The tree of one YAML document; an empty scalar where nothing is written.

    Faults and errors as `read_document` has them.
    """
    _check_characters(text, file, error)
    builder = _Builder()
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        for event in yaml.parse(text, Loader=loader):
            builder.take(event)
    except (yaml.YAMLError, ValueError, OverflowError) as exc:
        # The loader written in Python lets an impossible escape such as "\\UFFFFFFFF" through to `chr`.
        builder.fault(_parse_mark(exc), "YAML", f"a fault here ({_parse_reason(exc)})")
        builder.is_useless = True
    except _NoUseError:
        builder.is_useless = True
    root = builder.root or ScalarNode(text="", line=1, column=1)
    source = Source(name=name, file=file, root=root, faults=tuple(builder.faults))
    if builder.is_useless:
        raise error(*(_render_fault(fault, file) for fault in source.faults))
    return source


def _check_characters(text: str, file: str, error: type[CoachError]) -> None:
    found = UNPRINTABLE.search(text)
    if found is not None:
        before = text[: found.start()]
        line, column = before.count("\n") + 1, found.start() - before.rfind("\n")
        got = f"the character U+{ord(found[0]):04X}"
        raise error(Problem(where=f"{file}:{line}:{column}", expected="printable text", got=got))


def _parse_mark(exc: Exception) -> tuple[int, int]:
    mark = getattr(exc, "problem_mark", None)
    return (mark.line + 1, mark.column + 1) if mark else (1, 1)


def _parse_reason(exc: Exception) -> str:
    reason = getattr(exc, "problem", None) or getattr(exc, "reason", None) or exc
    return " ".join(str(reason).split())[:80]


def _render_fault(fault: Fault, file: str) -> Problem:
    where = f"{file}:{fault.place.line}:{fault.place.column}"
    if fault.place.path:
        where = f"{where}: {fault.place.path}"
    return Problem(where=where, expected=fault.expected, got=fault.got)


class _NoUseError(Exception):
    """The rest is not worth reading."""


@dataclass(slots=True, kw_only=True)
class _Open:
    """A list or mapping that is still being read."""

    path: str
    is_mapping: bool
    line: int
    column: int
    nodes: list[Node] = field(default_factory=list)
    """Items, or keys and values in turn."""

    lines: dict[str, int] = field(default_factory=dict)
    """The line of each key."""

    def next_path(self) -> str:
        """The path of the node that comes next."""
        if not self.is_mapping:
            return f"{self.path}[{len(self.nodes) + 1}]"
        key = self.nodes[-1] if len(self.nodes) % 2 else None
        return join_path(self.path, key.text) if isinstance(key, ScalarNode) else self.path

    def expects_key(self) -> bool:
        """The node that comes next is a key."""
        return self.is_mapping and len(self.nodes) % 2 == 0


@dataclass(slots=True, kw_only=True)
class _Builder:
    """Takes the parser's events one by one; no recursion, so no depth can overflow."""

    faults: list[Fault] = field(default_factory=list)
    open: list[_Open] = field(default_factory=list)
    root: Node | None = None
    documents: int = 0
    values: int = 0
    is_useless: bool = False

    def take(self, event: yaml.Event) -> None:
        """Take the next event."""
        if isinstance(event, yaml.DocumentStartEvent):
            self._begin_document(event)
        elif isinstance(event, yaml.NodeEvent):
            self._check_bounds(event)
            self._check_marks(event)
            self._begin(event)
        elif isinstance(event, yaml.CollectionEndEvent):
            self._put(_close(self.open.pop()))

    def _begin_document(self, event: yaml.DocumentStartEvent) -> None:
        self.documents += 1
        if self.documents > 1:
            self.fault(_spot(event), "one document", "a second")
            raise _NoUseError

    def _check_bounds(self, event: yaml.NodeEvent) -> None:
        self.values += 1
        if self.values > MOST_VALUES:
            self.fault(_spot(event), f"at most {MOST_VALUES} keys and values", "one more")
            raise _NoUseError
        is_collection = isinstance(event, yaml.CollectionStartEvent)
        if is_collection and len(self.open) == DEEPEST:
            self.fault(_spot(event), f"at most {DEEPEST} levels", "one more")
            raise _NoUseError

    def _check_marks(self, event: yaml.NodeEvent) -> None:
        if isinstance(event, yaml.AliasEvent):
            return self._note(event, "values written out", f"the alias '*{event.anchor}'")
        if event.anchor is not None:
            self._note(event, "values written out", f"the anchor '&{event.anchor}'")
        tag = getattr(event, "tag", None)
        if tag is not None:
            self._note(event, "no tag", repr(tag[:60]))
        return None

    def _begin(self, event: yaml.NodeEvent) -> None:
        line, column = _spot(event)
        if not isinstance(event, yaml.CollectionStartEvent):
            return self._put(ScalarNode(text=_text(event), line=line, column=column))
        is_mapping = isinstance(event, yaml.MappingStartEvent)
        self.open.append(_Open(path=self._path(), is_mapping=is_mapping, line=line, column=column))
        return None

    def _put(self, node: Node) -> None:
        if not self.open:
            self.root = node
            return
        inside = self.open[-1]
        if inside.expects_key():
            self._check_key(node, inside)
        inside.nodes.append(node)

    def _check_key(self, key: Node, inside: _Open) -> None:
        spot = (key.line, key.column)
        if not isinstance(key, ScalarNode):
            return self.fault(spot, "a key of one word", "a list or mapping", path=inside.path)
        path = join_path(inside.path, key.text)
        if key.text == "<<":
            return self.fault(spot, "values written out", "the merge key '<<'", path=path)
        if key.text in inside.lines:
            got = f"{shorten(key.text)!r} again (first in line {inside.lines[key.text]})"
            return self.fault(spot, "each key once", got, path=path)
        inside.lines[key.text] = key.line
        return None

    def _path(self) -> str:
        return self.open[-1].next_path() if self.open else ""

    def _note(self, event: yaml.Event, expected: str, got: str) -> None:
        self.fault(_spot(event), expected, got, path=self._path())

    def fault(self, spot: tuple[int, int], expected: str, got: str, *, path: str = "") -> None:
        """Note a fault at a line and column."""
        place = Place(path=path, line=spot[0], column=spot[1])
        self.faults.append(Fault(place=place, expected=expected, got=got))


def _close(done: _Open) -> Node:
    """The finished list or mapping; of a key written twice the first value counts."""
    if not done.is_mapping:
        return SequenceNode(items=tuple(done.nodes), line=done.line, column=done.column)
    entries: dict[str, tuple[ScalarNode, Node]] = {}
    for key, value in zip(done.nodes[::2], done.nodes[1::2], strict=True):
        if isinstance(key, ScalarNode) and key.text != "<<":
            entries.setdefault(key.text, (key, value))
    return MappingNode(entries=tuple(entries.values()), line=done.line, column=done.column)


def _text(event: yaml.NodeEvent) -> str:
    if isinstance(event, yaml.ScalarEvent):
        return str(event.value).strip()
    return f"*{event.anchor}"


def _spot(event: yaml.Event) -> tuple[int, int]:
    mark = event.start_mark
    return (mark.line + 1, mark.column + 1) if mark else (1, 1)
