"""The schema that ships is the one that the forms make, and every drill file fits it."""

from __future__ import annotations

import json

import jsonschema
import pytest
import yaml

from coach.drill.schema import SCHEMA_FILE, make_schema
from coach.store.drills import drills_folder

FOLDER = drills_folder()
FILES = sorted(FOLDER.glob("*.yaml"))
VALIDATOR = jsonschema.Draft202012Validator(make_schema())

EIGHT = yaml.safe_load((FOLDER / "eight-spoke.yaml").read_text("utf-8"))


def test_shipped_schema_is_the_one_the_forms_make() -> None:
    # Anew: coach drill schema > drills/drill.schema.json
    assert json.loads((FOLDER / SCHEMA_FILE).read_text("utf-8")) == make_schema()


def test_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(make_schema())


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_drill_fits_the_schema(path) -> None:
    assert not [error.message for error in VALIDATOR.iter_errors(yaml.safe_load(path.read_text("utf-8")))]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_drill_names_the_schema_in_its_first_line(path) -> None:
    first = path.read_text("utf-8").splitlines()[0]
    assert first == f"# yaml-language-server: $schema={SCHEMA_FILE}"


@pytest.mark.parametrize(
    "broken",
    [
        pytest.param({"titel": "x"}, id="unknown key"),
        pytest.param({"title": None}, id="no title"),
        pytest.param({"legs": EIGHT["spoke"]}, id="spoke and legs"),
        pytest.param({"spoke": [{**EIGHT["spoke"][0], "turn": "sideways"}]}, id="unknown word"),
        pytest.param({"spoke": [{**EIGHT["spoke"][0], "tracks": "maybe"}]}, id="no boolean"),
        pytest.param({"spoke": [{**EIGHT["spoke"][0], "tone_every_s": 1}]}, id="below the range"),
        pytest.param({"spoke": []}, id="no leg"),
        pytest.param({"five_ts": ["turn"] * 5}, id="a T twice"),
    ],
)
def test_schema_refuses_what_the_compiler_refuses(broken) -> None:
    assert VALIDATOR.is_valid(EIGHT)
    assert not VALIDATOR.is_valid({**EIGHT, **broken})


def test_every_key_is_explained_to_the_editor() -> None:
    schema = make_schema()
    records = [schema, *schema["$defs"].values()]
    keys = [key for record in records for key in record["properties"].values()]
    assert all(key["description"] for key in keys)
