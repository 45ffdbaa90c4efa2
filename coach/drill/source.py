"""A drill file, settings file or phrase table as written: a small tree of nodes with line and column.

Never reads a file (that is `coach.store.documents`) and never converts a value: every scalar is the
author's own text, so that `no` stays `no` and `1:30` stays `1:30`.
"""

from __future__ import annotations

from dataclasses import dataclass


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
class Source:
    """One file's tree and what to call it."""

    name: str
    """The drill's name: the file's name without its suffix."""

    file: str
    """The file as a problem names it."""

    root: Node
