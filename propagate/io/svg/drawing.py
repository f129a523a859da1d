"""From the elements of a drawing to groups of lines in millimetres, y up.

Transforms, nested viewports and ``use`` are resolved here; everything that is not a line
nor text (pictures, definitions, hidden parts) is counted and left out.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from propagate.errors import FormatError
from propagate.geometry.affine import Affine
from propagate.io.chain import Chain, Point, tidy_chain
from propagate.io.drawn_lines import DrawnText
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.io.svg.elements import lines_of, names_of
from propagate.io.svg.scale import (
    fit_view_box,
    length_of,
    parse_transform,
    read_numbers,
    root_scale,
    view_box,
)
from propagate.io.svg.texts import texts_of
from propagate.io.svg.xml_tree import SVG, Node
from propagate.visible import quoted

__all__ = ["Group", "Shape", "read_drawing"]

MOST_SHAPES = 30_000
MOST_STEPS = 200_000
MOST_COPIES = 2_000
MOST_POINTS = 400_000
MOST_LETTERS = 200_000_000  # of attributes, those of copies counted again
DEEPEST_USE = 20
FARTHEST_MM = 100_000.0

_SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
_CONTAINERS = {"g", "a", "switch", "svg"}
_SILENT = {"defs", "title", "desc", "metadata", "style", "symbol", "clipPath", "mask", "marker"}
_SILENT |= {"pattern", "linearGradient", "radialGradient", "filter", "script", "namedview"}
_XLINK = "http://www.w3.org/1999/xlink href"
_HIDDEN = re.compile(r"(?:^|;)\s*(?:display\s*:\s*none|visibility\s*:\s*hidden)")
_MARKER = re.compile(r"(?:^|;)\s*marker(?:-start|-end)?\s*:\s*url\(")
_URL = re.compile(r"\s*url\(")
_MOVED = re.compile(r"(?:^|;)\s*transform\s*:")


@dataclass(eq=False)
class Shape:
    """A drawn line with its names; one for each line of a path.

    Attributes
    ----------
    chain : Chain
    name : str or None
        As the person called it; None when it has no name or a program made it up.
    words : frozenset of str
        Words of its class.
    data : mapping
        Its ``data-`` attributes without that prefix.
    tag : str
        The element: ``circle``, ``path`` and so on.
    headed : bool
        Whether its style puts a marker, such as an arrow head, at an end.
    """

    chain: Chain
    name: str | None
    words: frozenset[str]
    data: Mapping[str, str]
    tag: str
    headed: bool = False


@dataclass(eq=False)
class Group:
    """A group of shapes and groups."""

    name: str | None
    words: frozenset[str]
    data: Mapping[str, str]
    shapes: list[Shape] = field(default_factory=list)
    groups: list[Group] = field(default_factory=list)
    texts: list[DrawnText] = field(default_factory=list)

    def all_texts(self) -> Iterator[DrawnText]:
        """Its texts and those of all groups in it."""
        yield from self.texts
        for group in self.groups:
            yield from group.all_texts()


def read_drawing(root: Node, file: str, options: ReadOptions, notes: ReportNotes) -> Group:
    """Return everything drawn in a file, in mm with y up.

    Raises
    ------
    FormatError
        Not an SVG drawing, broken path data or transforms, more than a drawing holds.
    """
    if root.tag != "svg" or root.space not in (SVG, ""):
        raise FormatError(
            f"{file}: found the element '{root.tag[:40]}', expected an SVG drawing; "
            "is the file of another kind?"
        )
    if not root.space:
        notes.add("repaired", "the drawing does not say that it is SVG, and is read so", file=file)
    walker = _Walker(root, file, options, notes)
    whole = Group(None, frozenset(), {})
    walker.children(root, root_scale(root, file, options, notes), whole, 0)
    return whole


class _Walker:
    def __init__(self, root: Node, file: str, options: ReadOptions, notes: ReportNotes) -> None:
        self.root, self.file, self.options, self.notes = root, file, options, notes
        self.shapes = self.steps = self.copies = self.letters = 0
        self.points = 0.0

    def children(self, node: Node, matrix: Affine, into: Group, uses: int) -> None:
        for child in node:
            self.steps += 1 + (child.get("transform") or "").count("(")
            self.letters += sum(map(len, child.attributes.values()))
            if self.steps > MOST_STEPS or self.letters > MOST_LETTERS:
                raise FormatError(
                    f"{self.file}: found more than {MOST_STEPS} elements and transforms, or "
                    f"{MOST_LETTERS // 10**6} million letters of them, once every 'use' is "
                    "followed, expected a pattern; take repeated parts out"
                )
            if child.space in (SVG, "") or child.space == self.root.space:
                self._element(child, matrix, into, uses)

    def _element(self, node: Node, matrix: Affine, into: Group, uses: int) -> None:
        tag = node.tag
        if tag in _SILENT:
            return
        style = node.get("style") or ""
        hidden = node.get("display") == "none" or node.get("visibility") == "hidden"
        if hidden or _HIDDEN.search(style):
            self.notes.add("ignored", "what is hidden in the drawing", file=self.file)
            return
        if _MOVED.search(style):
            text = "a transform in a style attribute is not followed; save as plain SVG"
            self.notes.add("warning", text, file=self.file)
        if tag not in _SHAPES | _CONTAINERS | {"use", "text"}:
            self.notes.add("ignored", f"the element '{tag[:40]}'", file=self.file)
            return
        try:
            inner = matrix @ parse_transform(node.get("transform") or "")
            if tag == "text" and "label" not in (node.get("class") or "").split():
                into.texts += texts_of(node, inner, self.options)
            elif tag in _SHAPES or tag == "text":
                self._shape(node, inner, into)
            elif tag == "use":
                self._use(node, inner, into, uses)
            else:
                self._group(node, inner, into, uses)
        except FormatError as error:
            text, name = str(error), node.get("id")
            label = f"'{name[:60]}' ({tag})" if name else f"an element '{tag}' without an id"
            raise FormatError(
                text if text.startswith(self.file) else f"{self.file}: {label}: {text}"
            ) from error

    @cached_property
    def _ids(self) -> dict[str, Node]:
        """Elements by their ids; of several with one id the first."""
        found: dict[str, Node] = {}
        rest = [self.root]
        while rest:
            node = rest.pop()
            name = node.get("id")
            if name:
                found.setdefault(name, node)
            rest.extend(reversed(node.children))
        return found

    def _group(self, node: Node, matrix: Affine, into: Group, uses: int) -> None:
        if node.tag == "svg":
            matrix = matrix @ self._viewport(node)
        name, words, data = names_of(node)
        if name in self.options.ignore or node.get("id") in self.options.ignore:
            self.notes.add("ignored", f"the group '{name or node.get('id')}'", file=self.file)
            return
        group = Group(name, words, data)
        into.groups.append(group)
        if "frame" in data:
            try:
                x, y = read_numbers(data["frame"])
            except ValueError:
                said = quoted(data["frame"][:60])
                raise FormatError(f"found the frame {said}, expected two numbers") from None
            matrix = Affine(e=-x, f=-y) @ matrix  # our writer gave it a place on the page
        self.children(node, matrix, group, uses)

    def _viewport(self, node: Node) -> Affine:
        x, y = (length_of(node.get(key), 0.0, self.options) for key in ("x", "y"))
        place = Affine(e=x, f=y)
        box = view_box(node)
        if box is None:
            return place
        width = length_of(node.get("width"), box[2], self.options)
        height = length_of(node.get("height"), box[3], self.options)
        return place @ fit_view_box(box, width, height, node.get("preserveAspectRatio"))

    def _use(self, node: Node, matrix: Affine, into: Group, uses: int) -> None:
        target = (node.get("href") or node.attributes.get(_XLINK) or "").strip()
        found = self._ids.get(target.removeprefix("#")) if target.startswith("#") else None
        if found is None:
            self.notes.add("ignored", "a copy of something that is not in the file", file=self.file)
            return
        self.copies += 1
        if self.copies > MOST_COPIES:
            raise FormatError(
                f"{self.file}: found more than {MOST_COPIES} copies ('use'), expected a pattern; "
                "take repeated parts out"
            )
        if uses >= DEEPEST_USE:
            raise FormatError(f"found copies of copies, more than {DEEPEST_USE} deep")
        x, y = (length_of(node.get(key), 0.0, self.options) for key in ("x", "y"))
        holder = Node(SVG, "g", {}, found.children if found.tag == "symbol" else [found])
        name, words, data = names_of(node)
        group = Group(name, words, data)
        into.groups.append(group)
        self.children(holder, matrix @ Affine(e=x, f=y), group, uses + 1)

    def _shape(self, node: Node, matrix: Affine, into: Group) -> None:
        name, words, data = names_of(node)
        headed = _is_headed(node)
        # Moves cost time though they draw nothing.
        self._spend(sum(map((node.get("d") or "").count, "MmZz")))
        for line in lines_of(node, self.options):
            self._spend(len(line.segments))
            self.shapes += 1
            if self.shapes > MOST_SHAPES:
                raise FormatError(
                    f"{self.file}: found more than {MOST_SHAPES} lines, expected a pattern; "
                    "take hatchings and pictures out"
                )
            chain = tidy_chain(
                _flipped(matrix, line.start),
                [tuple(_flipped(matrix, p) for p in part) for part in line.segments],
                line.closed,
            )
            if chain is not None:
                self._spend(chain.cost() - len(chain.segments))
                into.shapes.append(Shape(chain, name, words, data, node.tag, headed))

    def _spend(self, points: float) -> None:
        """Keep the points of all lines within what a pattern has."""
        self.points += points
        if self.points > MOST_POINTS:
            raise FormatError(
                f"{self.file}: found lines that need more than {MOST_POINTS} points to be drawn "
                "within 0.01 mm, expected a pattern; is the unit right? See --unit"
            )


def _flipped(matrix: Affine, point: Point) -> Point:
    x, y = matrix.apply(point)
    if not (math.isfinite(x) and math.isfinite(y) and max(abs(x), abs(y)) <= FARTHEST_MM):
        raise FormatError(
            f"found a point at ({x:.6g}, {y:.6g}) mm, expected a pattern within "
            f"{FARTHEST_MM / 1000:g} m; is the unit right? See --unit"
        )
    return x, -y


def _is_headed(node: Node) -> bool:
    """Whether a marker is drawn at an end of a line (SVG 2, 13.7), as programs draw arrow heads."""
    said = (node.get(name) or "" for name in ("marker-start", "marker-end"))
    return any(map(_URL.match, said)) or _MARKER.search(node.get("style") or "") is not None
