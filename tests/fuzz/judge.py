"""Judge what was accepted, by means of its own: shapely, bare JSON, XML, bytes."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import numpy as np
import shapely

import propagate
from propagate.engine.record import as_plain
from propagate.engine.run import Result
from propagate.pattern.patternset import PatternSet
from tests.builders import contents

__all__ = ["Unsound", "judge_result", "judge_set", "strict_json"]


class Unsound(AssertionError):
    """Something was accepted or made that is wrong in itself."""


def strict_json(value: Any) -> str:
    """JSON of a value of the project; not a number and infinity are refused."""
    try:
        return json.dumps(as_plain(value), allow_nan=False)
    except ValueError as error:
        raise Unsound("a figure is not a number, or infinite") from error


def judge_set(pattern: PatternSet, folder: Path) -> None:
    """Judge a set: its outlines, its walk, and that it comes back from disk as it is.

    Raises
    ------
    Unsound
    """
    for name, piece in pattern.pieces.items():
        for size, sized in piece.nest.items():
            points = np.concatenate([edge.points[:-1] for edge in sized.edges])
            if not np.isfinite(points).all():
                raise Unsound(f"piece '{name}', size '{size}': not finite")
            if not shapely.Polygon(points).is_valid:
                raise Unsound(f"piece '{name}', size '{size}': the outline is not valid")
    walked = {size: strict_json(propagate.walk(pattern, size).checks) for size in pattern.sizes}
    if walked[pattern.base] != strict_json(propagate.walk(pattern).checks):
        raise Unsound("the second walk differs from the first")
    for name in pattern.pieces:
        _drawing(propagate.draw(pattern, name))
    _comes_back(pattern, folder)


def judge_result(result: Result, folder: Path) -> None:
    """Judge a result: the set that it is, its record, its pictures.

    Raises
    ------
    Unsound
    """
    judge_set(result.pattern, folder / "as_set")
    strict_json(result.record)
    propagate.save(result, folder / "result")
    back = propagate.load_result(folder / "result")
    if strict_json(back.record) != strict_json(result.record):
        raise Unsound("the record that was saved comes back as another")
    for change in result.record.pieces:
        _drawing(propagate.draw(result, change.piece))


def _drawing(text: str) -> None:
    try:
        root = ET.fromstring(text)
    except ET.ParseError as error:
        raise Unsound("a picture is not well-formed XML") from error
    sides = [float(root.attrib[side].removesuffix("mm")) for side in ("width", "height")]
    if not all(math.isfinite(side) and side > 0 for side in sides):
        raise Unsound("a picture has no size")


def _comes_back(pattern: PatternSet, folder: Path) -> None:
    propagate.save(pattern, folder)
    try:
        back = propagate.load(folder)
    except propagate.PropagateError as error:
        raise Unsound("a set that was saved is refused") from error
    mine, theirs = contents(pattern), contents(back)
    for key in mine:
        if mine[key] != theirs[key]:
            raise Unsound(f"a set that was saved comes back with other {key}")
    again = folder.with_name(folder.name + "_again")
    propagate.save(back, again)
    if _bytes(folder) != _bytes(again):
        raise Unsound("a set that was loaded and saved has other bytes")


def _bytes(folder: Path) -> dict[str, bytes]:
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}
