"""What a value in a file must look like, as data; a tree is checked and converted by it.

The same forms describe drill files, settings and phrase tables, and a schema for editors can be made
from them. Never stops at the first problem: all are collected, each with its place.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from coach.drill.source import (
    LONGEST_QUOTE,
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

MOST_PROBLEMS = 100
"""Problems of one file that are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """The name of something defined elsewhere in the file, and where it was used."""

    name: str
    place: Place


@dataclass(slots=True, kw_only=True)
class Findings:
    """The problems found so far in one file or on one command line."""

    file: str
    """The file as a problem names it, or an option such as `--set`."""

    error: type[CoachError]
    """What is raised with them."""

    found: list[tuple[Place, Problem]] = field(default_factory=list)
    names: list[tuple[Name, Named]] = field(default_factory=list)
    """Every name read, for whoever knows what is defined."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """Words as written, on one line or more."""

    longest: int = 2000
    """Printable characters; line ends count too."""

    refused: tuple[str, ...] = ()
    """Words (lower case) that must not stand in it, because the coach must not say them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Name:
    """The name of a thing defined elsewhere in the file; becomes a `Named`."""

    of: str
    """What it names, such as `a time setting`."""

    kind: str | None = None
    """What it must be a name of, for `Findings.names`; None: nothing to look up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OneOf:
    """One of a few words; becomes the value beside the word."""

    values: dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """A number within limits, both included."""

    low: float
    high: float
    unit: str = ""
    """As a person reads it, such as `s`; empty: a count."""

    is_whole: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Worded:
    """A text of a fixed pattern; becomes what `parse` makes of it."""

    expected: str
    """The pattern as a person reads it, such as `degrees and a side, like '45 left'`."""

    pattern: str
    """The same as a regular expression, for the schema."""

    parse: Callable[[str], Any]
    """Gives None where the text does not fit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ListOf:
    """A list; becomes a tuple."""

    form: Form
    fewest: int = 1
    most: int = 100
    is_distinct: bool = False
    """True: no value twice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entries:
    """A mapping from names of the author's own (small letters, digits, `_`); becomes a dict."""

    form: Form
    most: int = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of a record."""

    name: str
    form: Form
    means: str
    """One line for the schema and the author."""

    is_required: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """A mapping of fixed keys; becomes what `make` builds from them."""

    of: str
    """What it describes, such as `a leg`."""

    keys: tuple[Key, ...]
    make: Callable[..., Any]
    """Takes the keys as keyword arguments (absent ones left out) and `place`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Either:
    """A single value of one form, or a mapping of another."""

    scalar: Form
    mapping: Record


Form = Text | Name | OneOf | Number | Worded | ListOf | Entries | Record | Either


def find_nearest(name: str, valid: Iterable[str]) -> str | None:
    """The valid name most like a wrong one; None where none is alike."""
    return next(iter(difflib.get_close_matches(name[:LONGEST_QUOTE], list(valid), n=1)), None)


def render_nearest(name: str, valid: Iterable[str]) -> str:
    """The nearest valid name in brackets, a space before it; empty where none is alike."""
    nearest = find_nearest(name, valid)
    return f" (nearest: {nearest!r})" if nearest else ""


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


def read_value(node: Node, path: str, form: Form, findings: Findings) -> Any:
    """Check a node against a form and convert it; None where a problem was noted."""
    if isinstance(form, Either):
        chosen: Form = form.mapping if isinstance(node, MappingNode) else form.scalar
        return read_value(node, path, chosen, findings)
    if isinstance(form, ListOf):
        return _read_list(node, path, form, findings)
    if isinstance(form, Entries):
        return _read_entries(node, path, form, findings)
    if isinstance(form, Record):
        return _read_record(node, path, form, findings)
    return _read_scalar(node, path, form, findings)


def _read_list(node: Node, path: str, form: ListOf, findings: Findings) -> Any:
    if not isinstance(node, SequenceNode):
        return findings.add(place_of(node, path), "a list", render_got(node))
    if not form.fewest <= len(node.items) <= form.most:
        return findings.add(place_of(node, path), _render_length(form), f"{len(node.items)}")
    paths = [f"{path}[{n}]" for n in range(1, len(node.items) + 1)]
    values = tuple(map(lambda item, at: read_value(item, at, form.form, findings), node.items, paths))
    if form.is_distinct:
        _check_distinct(node, paths, values, findings)
    return values


def _render_length(form: ListOf) -> str:
    return f"a list of {form.fewest}" + (f" to {form.most}" if form.most > form.fewest else "")


def _check_distinct(
    node: SequenceNode, paths: list[str], values: tuple[Any, ...], findings: Findings
) -> None:
    for n, value in enumerate(values):
        if value is not None and value in values[:n]:
            findings.add(place_of(node.items[n], paths[n]), "each value once", f"{quote(value)} again")


def _read_entries(node: Node, path: str, form: Entries, findings: Findings) -> Any:
    if not isinstance(node, MappingNode):
        return findings.add(place_of(node, path), "a mapping", render_got(node))
    if len(node.entries) > form.most:
        expected = f"at most {form.most} entries"
        return findings.add(place_of(node, path), expected, f"{len(node.entries)}")
    named = [(key, value) for key, value in node.entries if _check_name(key, path, findings)]
    return {
        key.text: read_value(value, join_path(path, key.text), form.form, findings) for key, value in named
    }


def _check_name(key: ScalarNode, path: str, findings: Findings) -> bool:
    if re.fullmatch(r"[a-z][a-z0-9_]{0,29}", key.text):
        return True
    expected = "a name of small letters, digits and '_', at most 30"
    findings.add(place_of(key, join_path(path, key.text)), expected, quote(key.text))
    return False


def _read_record(node: Node, path: str, form: Record, findings: Findings) -> Any:
    before = len(findings.found)
    fields = read_fields(node, path, form, findings)
    if len(findings.found) > before:
        return None
    return form.make(place=place_of(node, path), **fields)


def read_fields(node: Node, path: str, form: Record, findings: Findings) -> dict[str, Any]:
    """The converted values of a record by key: None for one with a problem, nothing for an absent one."""
    if not isinstance(node, MappingNode):
        findings.add(place_of(node, path), f"a mapping: {form.of}", render_got(node))
        return {}
    _check_keys(node, path, form, findings)
    forms = {key.name: key.form for key in form.keys}
    return {
        key.text: read_value(value, join_path(path, key.text), forms[key.text], findings)
        for key, value in node.entries
        if key.text in forms
    }


def _check_keys(node: MappingNode, path: str, form: Record, findings: Findings) -> None:
    valid = [key.name for key in form.keys]
    written = {key.text for key, _ in node.entries}
    for key, _ in node.entries:
        if key.text not in valid:
            expected = f"a key of {form.of}{_render_choice(key.text, valid)}"
            findings.add(place_of(key, join_path(path, key.text)), expected, quote(key.text))
    for required in form.keys:
        if required.is_required and required.name not in written:
            expected = f"the key {required.name!r} of {form.of}"
            findings.add(place_of(node, join_path(path, required.name)), expected, "none")


def _render_choice(name: str, valid: list[str]) -> str:
    return render_nearest(name, valid) or f" ({', '.join(valid)})"


def _read_scalar(
    node: Node, path: str, form: Text | Name | OneOf | Number | Worded, findings: Findings
) -> Any:
    expected = render_expected(form)
    if not isinstance(node, ScalarNode):
        return findings.add(place_of(node, path), expected, render_got(node))
    value = _convert(node, path, form)
    if value is None:
        findings.add(place_of(node, path), expected + _render_hint(node.text, form), render_got(node))
    if isinstance(form, Name) and value is not None:
        findings.names.append((form, value))
    return value


def _render_hint(text: str, form: Text | Name | OneOf | Number | Worded) -> str:
    if isinstance(form, OneOf):
        return render_nearest(text, form.values)
    barred = _find_refused(text, form) if isinstance(form, Text) else None
    return f" without {barred!r}, which the coach never says" if barred else ""


def render_expected(form: Text | Name | OneOf | Number | Worded) -> str:
    """What a single value must be, for people."""
    if isinstance(form, Text):
        return f"a text of 1 to {form.longest} printable characters"
    if isinstance(form, Name):
        return f"the name of {form.of}"
    if isinstance(form, OneOf):
        return f"one of {', '.join(form.values)}"
    if isinstance(form, Worded):
        return form.expected
    kind = "a whole number" if form.is_whole else "a number"
    unit = f" {form.unit}" if form.unit else ""
    return f"{kind} from {form.low:g} to {form.high:g}{unit}"


def _convert(node: ScalarNode, path: str, form: Text | Name | OneOf | Number | Worded) -> Any:
    if isinstance(form, Text):
        return _parse_text(node.text, form)
    if isinstance(form, Name):
        named = Named(name=node.text, place=place_of(node, path))
        return named if node.text and len(node.text) <= LONGEST_QUOTE else None
    if isinstance(form, OneOf):
        return form.values.get(node.text)
    if isinstance(form, Worded):
        return form.parse(node.text)
    return parse_number(node.text, form)


def _parse_text(text: str, form: Text) -> str | None:
    is_printable = text.replace("\n", " ").isprintable()
    if not text or not is_printable or len(text) > form.longest or _find_refused(text, form):
        return None
    return text


def _find_refused(text: str, form: Text) -> str | None:
    words = f" {' '.join(re.findall(r'[a-z]+', text.lower()))} "
    return next((barred for barred in form.refused if f" {barred} " in words), None)


def parse_number(text: str, form: Number) -> float | int | None:
    """A number written with digits (no exponent, `nan`, `inf` or `1_000`); None where it is not."""
    pattern = r"[+-]?[0-9]{1,9}" if form.is_whole else r"[+-]?[0-9]{1,9}(\.[0-9]{1,9})?"
    if not re.fullmatch(pattern, text):
        return None
    value = int(text) if form.is_whole else float(text)
    return value if form.low <= value <= form.high else None
