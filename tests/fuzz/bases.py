"""Sound inputs: sets as plain values, drawings as text, and a folder for the commands."""

from __future__ import annotations

import json
import math
import tempfile
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import propagate
from propagate.io.dxf import WriteOptions, write
from propagate.io.geometry_json import dump_piece
from propagate.io.options import SvgWriting
from propagate.io.set_toml import render_set
from propagate.io.svg.write import svg_texts
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from tests.builders import pocket_set, tiny_set

__all__ = [
    "DRAWINGS",
    "SETS",
    "document",
    "drawing",
    "fill_commands_folder",
    "small_set",
    "toml_text",
]

SETS = (
    "tiny",
    "pocket",
    "slant_trouser",
    "scoop_skirt",
    "workshop_gilet",
    "lined_skirt",
    "ferry_shirt",
    "concert_dress",
    "quay_jeans",
    "market_bag",
    "puddle_pinafore",
)
DRAWINGS = tuple(
    f"{name}.{form}"
    for name in ("tiny", "pocket", "slant_trouser", "workshop_gilet")
    for form in ("nested", "rules", "svg", "json")
)
"""A set, and how it is written."""


@cache
def small_set(name: str) -> PatternSet:
    """A set in three sizes; small enough to be tried many times a second."""
    if name == "tiny":
        return tiny_set()
    if name == "pocket":
        return pocket_set()
    pattern = propagate.load(propagate.demo_path(name))
    at = pattern.sizes.index(pattern.base)
    sizes = pattern.sizes[at - 1 : at + 2]
    pieces = {n: Piece(n, {s: p.at(s) for s in sizes}) for n, p in pattern.pieces.items()}
    chart = {n: {s: row[s] for s in sizes} for n, row in pattern.chart.items()}
    return replace(pattern, sizes=sizes, pieces=pieces, chart=chart, origin=None)


@cache
def _document_text(name: str) -> str:
    pattern = small_set(name)
    pieces = {n: json.loads(dump_piece(piece)) for n, piece in pattern.pieces.items()}
    return json.dumps({"set": tomllib.loads(render_set(pattern)), "geometry": pieces, "sent": {}})


def document(name: str) -> dict[str, Any]:
    """A set as plain values of its own: what set.toml says, and the geometry by piece."""
    found: dict[str, Any] = json.loads(_document_text(name))
    return found


@cache
def drawing(name: str) -> Mapping[str, str]:
    """The files of a drawing by name, bytes as latin-1 text."""
    pattern_name, _, form = name.partition(".")
    pattern = small_set(pattern_name)
    if form == "svg":
        texts = svg_texts(pattern, SvgWriting(), "a.svg")
    elif form == "json":
        texts = {f"{n}.json": dump_piece(piece) for n, piece in pattern.pieces.items()}
    else:
        with tempfile.TemporaryDirectory() as folder:
            write(pattern, Path(folder) / "a.dxf", WriteOptions(kind=form))  # type: ignore[arg-type]
            return {f.name: f.read_bytes().decode("latin-1") for f in Path(folder).iterdir()}
    return {n: text.encode().decode("latin-1") for n, text in texts.items()}


def fill_commands_folder(folder: Path) -> None:
    """Write what the commands are tried on: sets, a result, drawings."""
    propagate.save(small_set("pocket"), folder / "set")
    propagate.save(small_set("workshop_gilet"), folder / "gilet")
    edit = propagate.Blend({"waist": "36", "hip": "40"})
    propagate.save(propagate.blend(small_set("pocket"), edit), folder / "result")
    for form in ("rules", "svg", "json"):
        for name, text in drawing(f"tiny.{form}").items():
            (folder / name).write_bytes(text.encode("latin-1"))


# --------------------------------------------------------------------------------- TOML


def toml_text(values: Mapping[str, Any]) -> str:
    """TOML of a mapping, with everything below its top as inline values."""
    return "".join(f"{_key(key)} = {_value(value)}\n" for key, value in values.items())


def _key(key: str) -> str:
    return json.dumps(key, ensure_ascii=False)


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    return json.dumps("null" if value is None else value, ensure_ascii=False)
