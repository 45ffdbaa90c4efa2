"""A JSON Schema of the drill file, made from the forms that the compiler reads by, for editors.

What a schema can say of single values and keys; what belongs together only `coach drill check` knows.
Never looks at a file.
"""

from __future__ import annotations

from typing import Any

from coach.drill.forms import Either, Entries, Form, ListOf, Name, Number, OneOf, Record, Text, Worded
from coach.drill.language import DRILL
from coach.drill.source import LONGEST_QUOTE

SCHEMA_FILE = "drill.schema.json"
"""How the file is called that ships with the drills."""

DRAFT = "https://json-schema.org/draft/2020-12/schema"

AUTHORS_NAME = "^[a-z][a-z0-9_]{0,29}$"
"""A name of the author's own."""

_YAML = {"true": True, "false": False}
"""What an editor's YAML parser makes of these words."""


def make_schema() -> dict[str, Any]:
    """The schema of a whole drill file, as a JSON object."""
    shared: dict[str, Any] = {}
    whole = _record(DRILL, shared)
    return {
        "$schema": DRAFT,
        "title": "A drill file of the drill coach",
        **whole,
        "oneOf": [{"required": ["spoke"]}, {"required": ["legs"]}],
        "$defs": dict(sorted(shared.items())),
    }


def _make(form: Form, shared: dict[str, Any]) -> dict[str, Any]:
    match form:
        case Record():
            return _shared_record(form, shared)
        case Either(scalar=scalar, mapping=mapping):
            return {"anyOf": [_make(scalar, shared), _make(mapping, shared)]}
        case ListOf():
            return _list(form, shared)
        case Entries(form=each, most=most):
            names = {"pattern": AUTHORS_NAME}
            made = _make(each, shared)
            return {
                "type": "object",
                "maxProperties": most,
                "propertyNames": names,
                "additionalProperties": made,
            }
        case _:
            return _scalar(form)


def _shared_record(form: Record, shared: dict[str, Any]) -> dict[str, Any]:
    """A record stands once under `$defs`, named by what it describes."""
    name = form.of.replace(" ", "-")
    if name not in shared:
        shared[name] = {}
        shared[name] = _record(form, shared)
    return {"$ref": f"#/$defs/{name}"}


def _record(form: Record, shared: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "additionalProperties": False,
        "required": [key.name for key in form.keys if key.is_required],
        "properties": {key.name: {"description": key.means, **_make(key.form, shared)} for key in form.keys},
    }


def _list(form: ListOf, shared: dict[str, Any]) -> dict[str, Any]:
    limits = {"minItems": form.fewest, "maxItems": form.most}
    distinct = {"uniqueItems": True} if form.is_distinct else {}
    return {"type": "array", "items": _make(form.form, shared), **limits, **distinct}


def _scalar(form: Text | Name | OneOf | Number | Worded) -> dict[str, Any]:
    match form:
        case Text(longest=longest):
            return {"type": "string", "minLength": 1, "maxLength": longest}
        case OneOf(values=values):
            return {"enum": [_YAML.get(word, word) for word in values]}
        case Number(low=low, high=high, is_whole=is_whole):
            return {"type": "integer" if is_whole else "number", "minimum": low, "maximum": high}
        case Worded(pattern=pattern):
            return {"type": "string", "pattern": pattern}
        case Name():
            return _name(form)


def _name(form: Name) -> dict[str, Any]:
    if form.kind is None:
        return {"type": ["string", "number", "boolean"]}
    named = {"type": "string", "pattern": AUTHORS_NAME if form.kind != "leg" else f"^.{{1,{LONGEST_QUOTE}}}$"}
    others: list[dict[str, Any]] = [{"enum": list(form.also)}] if form.also else []
    if form.number is not None:
        others.append(_scalar(form.number))
    return {"anyOf": [*others, named]} if others else named
