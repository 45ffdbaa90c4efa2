"""What is wrong with a file or a command line, collected problem by problem, each with its place.

Never stops at the first problem and never decides what is right: that is `coach.drill.conversion`'s.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from coach.drill.source import (
    LONGEST_QUOTE,
    MappingNode,
    Node,
    Place,
    SequenceNode,
    Source,
    shorten,
)
from coach.errors import CoachError, Problem

MOST_PROBLEMS = 100
"""Problems of one file that are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """The name of something defined elsewhere in the file, and where it was used."""

    name: str
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A name that was used, and what it must be a name of."""

    kind: str
    """The kind of setting, or `leg`."""

    named: Named
    also: tuple[str, ...] = ()
    """The words that could have stood there as well."""


@dataclass(slots=True, kw_only=True)
class Findings:
    """The problems found so far in one file or on one command line."""

    file: str
    """The file as a problem names it, or an option such as `--set`."""

    error: type[CoachError]
    """What is raised with them."""

    found: list[tuple[Place, Problem]] = field(default_factory=list)
    names: list[Wanted] = field(default_factory=list)
    """Every name read that must be defined in the file, for whoever knows what is."""

    @classmethod
    def of_source(cls, source: Source, error: type[CoachError]) -> Findings:
        """What reading the file already found."""
        findings = cls(file=source.file, error=error)
        for fault in source.faults:
            findings.add(fault.place, fault.expected, fault.got)
        return findings

    def add(self, place: Place, expected: str, got: str) -> None:
        """Note one problem; at `MOST_PROBLEMS` there is no going on."""
        self.found.append((place, Problem(where=self._render_where(place), expected=expected, got=got)))
        if len(self.found) == MOST_PROBLEMS:
            self.raise_any()

    def _render_where(self, place: Place) -> str:
        if place.line == 0:
            return f"{self.file} {place.path}".rstrip()
        spot = f"{self.file}:{place.line}:{place.column}"
        return f"{spot}: {place.path}" if place.path else spot

    def raise_any(self) -> None:
        """Raise one error with all problems in the order of their places, if there are any."""
        if self.found:
            inorder = sorted(self.found, key=lambda each: (each[0].line, each[0].column))
            raise self.error(*(problem for _, problem in inorder))


def find_nearest(name: str, valid: Iterable[str]) -> str | None:
    """The valid name most like a wrong one; None where none is alike."""
    return next(iter(difflib.get_close_matches(name[:LONGEST_QUOTE], list(valid), n=1)), None)


def render_nearest(name: str, valid: Iterable[str]) -> str:
    """The nearest valid name in brackets, a space before it; empty where none is alike."""
    nearest = find_nearest(name, valid)
    return f" (nearest: {nearest!r})" if nearest else ""


def render_any(choices: Sequence[str]) -> str:
    """Several things of which one is asked for: `outbound, inbound or the name of a setting`."""
    *most, last = choices
    return f"{', '.join(most)} or {last}" if most else last


def render_got(node: Node) -> str:
    """What stands there, short enough for one line."""
    if isinstance(node, SequenceNode):
        return "a list"
    if isinstance(node, MappingNode):
        return "a mapping"
    if not node.text:
        return "nothing"
    return quote(node.text)


def quote(text: str) -> str:
    """A text in quotes, cut to one short line."""
    return repr(shorten(str(text)))


def place_of(node: Node, path: str) -> Place:
    """Where a node stands."""
    return Place(path=path, line=node.line, column=node.column)
