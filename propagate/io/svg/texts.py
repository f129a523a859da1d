"""The texts of a drawing: their words, place and height in millimetres, y up.

The attributes are those of the W3C recommendation *Scalable Vector Graphics (SVG) 1.1*, chapter 10.
How wide the letters of a font are is not known: half their height each.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from propagate.errors import FormatError
from propagate.geometry.affine import Affine
from propagate.io.drawn_lines import DrawnText
from propagate.io.options import ReadOptions
from propagate.io.svg.scale import length_of
from propagate.io.svg.xml_tree import Node

__all__ = ["texts_of"]

USUAL_SIZE = 16.0  # px, of CSS: "medium"; from memory
LETTER_SHARE = 0.5  # of the height, common practice, no source
LONGEST = 400
_ANCHORS = {"middle": 0.5, "end": 1.0}


def texts_of(node: Node, matrix: Affine, options: ReadOptions) -> Iterator[DrawnText]:
    """Read a text element, one text for each line of it that has a place of its own.

    Parameters
    ----------
    node : Node
    matrix : Affine
        From its coordinates to mm, y down.
    options : ReadOptions
    """
    scale = math.hypot(matrix.a, matrix.b)
    for words, at, style in _lines_of(node, (0.0, 0.0), {}, options):
        text = " ".join(words.split())[:LONGEST]
        height = _size_said(style, options) * scale
        x, y = matrix.apply(at)
        if not text or not all(map(math.isfinite, (x, y, height))):
            continue
        angle = -math.degrees(math.atan2(matrix.b, matrix.a))
        width = LETTER_SHARE * height * len(text)
        back = width * _ANCHORS.get(style.get("text-anchor", ""), 0.0)
        turn = math.radians(angle)
        place = (x - back * math.cos(turn), -y - back * math.sin(turn))
        yield DrawnText(text, place, height, angle, width)


def _lines_of(
    node: Node, at: tuple[float, float], style: dict[str, str], options: ReadOptions
) -> Iterator[tuple[str, tuple[float, float], dict[str, str]]]:
    """The words of a text and of the parts in it that stand somewhere else."""
    own = {**style, **_style_of(node)}
    x, y, down = (_first_length(node.get(key), options) for key in ("x", "y", "dy"))
    here = (at[0] if x is None else x, (at[1] if y is None else y) + (down or 0.0))
    words, last = node.words, here
    for child in node:
        if any(child.get(key) is not None for key in ("x", "y", "dy")):
            for line in _lines_of(child, last, own, options):
                last = line[1]
                yield line
        else:
            words += child.words
    yield words, here, own


def _style_of(node: Node) -> dict[str, str]:
    said = {key: node.get(key) or "" for key in ("font-size", "text-anchor") if node.get(key)}
    for part in (node.get("style") or "").split(";"):
        key, _, value = part.partition(":")
        if key.strip() in ("font-size", "text-anchor"):
            said[key.strip()] = value.strip()
    return said


def _first_length(text: str | None, options: ReadOptions) -> float | None:
    """The first of the lengths of a list, as of the letters of a text."""
    if text is None or not text.strip():
        return None
    try:
        return length_of(re.split(r"[\s,]+", text.strip())[0], 0.0, options)
    except FormatError:  # em, %: where a word stands is no length of a piece
        return None


def _size_said(style: dict[str, str], options: ReadOptions) -> float:
    size = _first_length(style.get("font-size"), options)
    return size if size is not None and size > 0.0 else USUAL_SIZE
