"""The JSON Schemas agree with the readers, the demo sets and the documentation."""

import json
import re
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from referencing import Registry
from referencing.jsonschema import DRAFT202012

from propagate.errors import FormatError
from propagate.io.geometry_json import dump_piece, load_piece
from propagate.io.reading import UnreadableFile
from propagate.io.set_toml import parse_set, render_set
from tests.builders import TINY_TOML, pocket_set, tiny_set
from tests.examples import goes_on

ROOT = Path(__file__).parents[2]
DOC = (ROOT / "docs" / "set-format.md").read_text(encoding="utf-8")


def schema(name: str) -> dict[str, Any]:
    text = files("propagate.io").joinpath("schema", f"{name}.schema.json").read_text("utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def validator(name: str) -> jsonschema.Draft202012Validator:
    record = DRAFT202012.create_resource(schema("record"))
    known: Registry[Any] = Registry().with_resource("urn:propagate:record:1", record)
    return jsonschema.Draft202012Validator(schema(name), registry=known)


def example(language: str) -> str:
    """The longest example of a language in the documentation."""
    return max(re.findall(rf"```{language}\n(.*?)```", DOC, re.DOTALL), key=len)


@pytest.mark.parametrize("name", ["set", "geometry", "record", "revised", "cut_lines"])
def test_the_schemas_are_schemas(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(schema(name))
    assert schema(name)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_examples_of_the_documentation_are_valid_and_readable() -> None:
    validator("set").validate(tomllib.loads(example("toml")))
    validator("geometry").validate(json.loads(example("json")))
    assert parse_set(example("toml"), "doc").relations.blend is not None
    assert load_piece(example("json"), "doc").name == "front"


@pytest.mark.parametrize(
    "folder", sorted(p.parent for p in (ROOT / "demo_sets").glob("*/set.toml"))
)
def test_demo_sets_are_valid(folder: Path) -> None:
    validator("set").validate(tomllib.loads((folder / "set.toml").read_text(encoding="utf-8")))
    geometry = sorted(folder.glob("geometry/*.json"))
    assert geometry or list(folder.glob("*.dxf"))
    check = validator("geometry")
    for file in geometry:
        value = json.loads(file.read_text(encoding="utf-8"))
        # Sizes are written alike: the first and the last stand for the rest.
        sizes = list(value["sizes"])
        for size in sizes if goes_on() else {sizes[0], sizes[-1]}:
            check.validate({**value, "sizes": {size: value["sizes"][size]}})


def test_what_is_written_is_valid() -> None:
    validator("set").validate(tomllib.loads(TINY_TOML))
    for pattern in (tiny_set(), pocket_set()):
        validator("set").validate(tomllib.loads(render_set(pattern)))
        for piece in pattern.pieces.values():
            validator("geometry").validate(json.loads(dump_piece(piece)))


def tables(value: object) -> Iterator[dict[str, Any]]:
    """Every table within a document, itself included."""
    if isinstance(value, dict):
        yield value
        for item in value.values():
            yield from tables(item)
    elif isinstance(value, list):
        for item in value:
            yield from tables(item)


def closed_tables(part: object) -> Iterator[frozenset[str]]:
    """The key sets of every table of a schema that allows no others."""
    for table in tables(part):
        if table.get("additionalProperties") is False:
            yield frozenset(table["properties"])


STRANGE = "q0x"


def known_keys(message: str) -> set[frozenset[str]]:
    return {
        frozenset(keys.split(", ")) for keys in re.findall(rf"'{STRANGE}'; known: (.*)", message)
    }


def test_reader_and_schema_know_the_same_keys_of_a_set() -> None:
    drawn = example("toml").replace('geometry = "geometry"', 'geometry = "style.dxf"')
    text = f'{drawn}\n[dxf]\nunit = "mm"\n[levels.knee]\nfront = "side.start"\n'
    document = tomllib.loads(text)
    validator("set").validate(document)
    assert parse_set(text, "set.toml").levels == {"knee": {"front": "side.start"}}
    text = text.replace("format = 1", f"format = 1\n{STRANGE} = 1")
    text = re.sub(r"^(\[[^\n]*\])", rf"\1\n{STRANGE} = 1", text, flags=re.MULTILINE)
    text = re.sub(r"(\{ )(?=name|piece|silhouette|edge)", rf"\1{STRANGE} = 1, ", text)
    assert document
    # an ease is one of several tables; tests/io/test_ease_toml.py reads each
    ease = {
        frozenset(keys)
        for keys in (("share",), ("from", "to"), ("to", "ease"), ("gathers",), ("stretched",))
    }
    with pytest.raises(UnreadableFile) as caught:
        parse_set(text, "set.toml")
    assert known_keys("\n".join(caught.value.problems)) == set(closed_tables(schema("set"))) - ease


def test_reader_and_schema_know_the_same_keys_of_geometry() -> None:
    document = json.loads(example("json"))
    open_tables = [document["sizes"], *(s["levels"] for s in document["sizes"].values())]
    for table in list(tables(document)):
        if not any(table is other for other in open_tables):
            table[STRANGE] = 1
    with pytest.raises(UnreadableFile) as caught:
        load_piece(json.dumps(document), "front.json")
    edge = {frozenset({"name", "path"}), frozenset({"name", "points", "turns"})}
    expected = set(closed_tables(schema("geometry"))) - edge
    # an edge is one of two tables; the reader knows the keys of both
    assert known_keys("\n".join(caught.value.problems)) == expected | {frozenset().union(*edge)}


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("set", "format = 1", "format = 2"),
        ("set", "cut = 2", "cut = 0"),
        ("set", "default = 10", 'default = "10"'),
        ("set", "default = 10", "default = -1"),
        ("set", 'sizes = ["36"', 'sizes = ["3 6"'),
        ("set", 'sizes = ["36"', "sizes = [36.5"),
        ("set", '"front.side"]', '"front side"]'),
        ("set", 'across_end = "start"', 'across_end = "top"'),
        ("geometry", '"format": 1', '"format": 2'),
        ("geometry", "[100.0, 0.0]", "[100.0]"),
        ("geometry", "[100.0, 0.0]", '["100", 0.0]'),
        ("geometry", '"dart leg"', '"leg"'),
        ("geometry", '"path": "M', '"path": "Z'),
        ("geometry", '"piece": "front"', '"piece": "../front"'),
    ],
)
def test_what_the_reader_refuses_the_schema_refuses_too(name: str, old: str, new: str) -> None:
    text = example("toml" if name == "set" else "json")
    assert old in text
    bad = text.replace(old, new)
    document = tomllib.loads(bad) if name == "set" else json.loads(bad)
    assert not validator(name).is_valid(document)
    with pytest.raises(FormatError):
        parse_set(bad, "x") if name == "set" else load_piece(bad, "x")
