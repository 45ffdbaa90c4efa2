"""Checks a tree of nodes against forms and converts it, every problem noted.

Never reads a file and never knows what a key means.
"""

from __future__ import annotations

import re
from typing import Any

from coach.drill.findings import (
    Findings,
    Named,
    Wanted,
    place_of,
    quote,
    render_any,
    render_got,
    render_nearest,
)
from coach.drill.forms import Either, Entries, Form, ListOf, Name, Number, OneOf, Record, Text, Worded
from coach.drill.source import LONGEST_QUOTE, MappingNode, Node, ScalarNode, SequenceNode, join_path


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
    if isinstance(form, Name) and form.kind and isinstance(value, Named) and value.name not in form.also:
        findings.names.append(Wanted(kind=form.kind, named=value, also=form.also))
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
        choices = [*form.also, *([render_expected(form.number)] if form.number else [])]
        return render_any([*choices, f"the name of {form.of}"])
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
        return _name(node, path, form)
    if isinstance(form, OneOf):
        return form.values.get(node.text)
    if isinstance(form, Worded):
        return form.parse(node.text)
    return parse_number(node.text, form)


def _name(node: ScalarNode, path: str, form: Name) -> Named | float | None:
    """A name; a number where one may stand there and something like one does."""
    if form.number is not None and re.match(r"[+-]?[0-9]", node.text):
        return parse_number(node.text, form.number)
    named = Named(name=node.text, place=place_of(node, path))
    return named if node.text and len(node.text) <= LONGEST_QUOTE else None


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
