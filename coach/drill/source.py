"""A drill file, settings file or phrase table as written: a small tree of nodes with line and column.

Never reads a file (that is `coach.store.documents`) and never converts a value: every scalar is the
author's own text, so that `no` stays `no` and `1:30` stays `1:30`.
"""

from __future__ import annotations

from dataclasses import dataclass

LONGEST_QUOTE = 40
"""Characters of a wrong value or key that a problem repeats."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScalarNode:
    """One value as the author wrote it."""

    text: str
    """Without quotes and surrounding space; empty where nothing was written."""

    line: int
    """From 1; 0 where the value comes from the command line."""

    column: int
    """From 1; 0 where the value comes from the command line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SequenceNode:
    """A list."""

    items: tuple[Node, ...]
    line: int
    column: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MappingNode:
    """Keys and values in the order written; no key twice."""

    entries: tuple[tuple[ScalarNode, Node], ...]
    line: int
    column: int


Node = ScalarNode | SequenceNode | MappingNode


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a value stands."""

    path: str
    """Keys joined by dots, list items counted from 1: `spoke[2].turn`; empty: the whole file."""

    line: int
    column: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What is wrong with the writing itself: a key twice, an alias, a tag."""

    place: Place
    expected: str
    got: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One file's tree and what to call it."""

    name: str
    """The drill's name: the file's name without its suffix."""

    file: str
    """The file as a problem names it."""

    root: Node
    faults: tuple[Fault, ...] = ()
    """What was already found wrong while reading; whoever checks the tree tells them with its own."""


def join_path(path: str, key: str) -> str:
    """The path of a key within the mapping at `path`, safe to print on one line."""
    name = shorten(key) if key.isprintable() else repr(shorten(key))
    return f"{path}.{name}" if path else name


def shorten(text: str) -> str:
    """A text cut to fit a line."""
    return text if len(text) <= LONGEST_QUOTE else f"{text[:LONGEST_QUOTE]}…"
