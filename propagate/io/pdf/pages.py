"""Open a PDF and draw out its pages, each in mm with y up and its corner at the origin."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf

from propagate.errors import FormatError
from propagate.geometry.affine import UNMOVED, Affine
from propagate.io.drawn_lines import DrawnLine, DrawnText
from propagate.io.pdf.annotations import list_appearances
from propagate.io.pdf.clip import Clip
from propagate.io.pdf.content import Content
from propagate.io.pdf.layers import Layers, layers_of
from propagate.io.pdf.limits import MOST_BYTES, MOST_PAGES, NOT_READABLE, Budget, bounded_library
from propagate.io.pdf.state import read_box
from propagate.values import dataclass

__all__ = ["Document", "DrawnPage", "read_pages"]

MM = 25.4 / 72
FARTHEST_MM = 100_000.0
_DEEPEST = 50
_ROUNDED_MM = 0.05
"""Writers round the size of a page; what lies on its border is not cut."""
_A4 = (0.0, 0.0, 595.0, 842.0)


@dataclass(frozen=True, eq=False)
class DrawnPage:
    """A page.

    Attributes
    ----------
    number : int
        From 1.
    size : (width, height)
        mm, as it is seen: cropped and turned.
    lines : tuple of DrawnLine
    texts : tuple of DrawnText
    counts : mapping of word to int
        What was left out.
    inks : frozenset of str
        Inks whose colour is not computed.
    """

    number: int
    size: tuple[float, float]
    lines: tuple[DrawnLine, ...]
    texts: tuple[DrawnText, ...]
    counts: Counter[str]
    inks: frozenset[str]


@dataclass(frozen=True, eq=False)
class Document:
    """The pages of a file and the layers that it lists."""

    file: str
    pages: tuple[DrawnPage, ...]
    layers: Layers
    damaged: bool
    unreadable: int


def read_pages(path: Path, scale: float = 1.0) -> Document:
    """Draw out all pages of a PDF, every length `scale` times as long as the file says.

    Raises
    ------
    FormatError
        It cannot be opened, or holds more than a pattern does.
    """
    name = path.name
    size = _size_of(path)
    if size > MOST_BYTES:
        raise FormatError(
            f"{name}: found {size / 1e6:.0f} MB, expected at most {MOST_BYTES // 1_000_000} MB"
        )
    with bounded_library() as told, _open_file(path) as pdf:
        try:
            count = len(pdf.pages)
        except NOT_READABLE as error:
            raise _make_unreadable(name, error) from None
        if not 0 < count <= MOST_PAGES:
            raise FormatError(f"{name}: found {count} pages, expected 1 to {MOST_PAGES}")
        budget = Budget(name)
        pages = tuple(_draw_pages(pdf, name, scale, budget))
        try:
            layers = layers_of(pdf.Root)
        except NOT_READABLE:
            layers = Layers()
        return Document(name, pages, layers, bool(told or pdf.get_warnings()), budget.unreadable)


def _size_of(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError as error:
        raise FormatError(f"{path}: cannot be read ({error.strerror})") from None


def _open_file(path: Path) -> pikepdf.Pdf:
    name = path.name
    try:
        return pikepdf.open(path)
    except pikepdf.PasswordError:
        raise FormatError(
            f"{name}: found a PDF that asks for a password, expected one that opens without; open "
            "it with its password and save or print it as a PDF without one"
        ) from None
    except OSError as error:
        raise FormatError(f"{path}: cannot be read ({error.strerror})") from None
    except NOT_READABLE as error:
        raise _make_unreadable(name, error) from None


def _make_unreadable(name: str, _error: Exception) -> FormatError:
    return FormatError(
        f"{name}: found no PDF that can be read, or one that is damaged; open it in a viewer and "
        "save or print it again as a PDF"
    )


def _draw_pages(pdf: pikepdf.Pdf, name: str, times: float, budget: Budget) -> Iterator[DrawnPage]:
    for number in range(1, len(pdf.pages) + 1):
        try:
            page = pdf.pages[number - 1]
            ctm, size = _find_page_frame(page.obj, times)
        except NOT_READABLE:
            raise FormatError(
                f"{name}: page {number} is damaged: its size cannot be read; open the file in a "
                "viewer and save or print it again as a PDF"
            ) from None
        if max(size) > FARTHEST_MM:
            raise FormatError(
                f"{name}: page {number} is {max(size) / 1000:.0f} m long, expected at most "
                f"{FARTHEST_MM / 1000:.0f} m"
            )
        wide, tall = size[0] + _ROUNDED_MM, size[1] + _ROUNDED_MM
        content = Content(number, ctm, Clip((-_ROUNDED_MM, -_ROUNDED_MM, wide, tall)), budget)
        content.run(page, _find_inherited(page.obj, "/Resources"))
        for form, placed, layer in list_appearances(page.obj, content.counts):
            content.draw_appearance(form, placed, layer)
        yield DrawnPage(
            number,
            size,
            tuple(content.lines),
            tuple(content.texts),
            content.counts,
            frozenset(content.inks),
        )


def _find_page_frame(page: Any, times: float) -> tuple[Affine, tuple[float, float]]:
    """From user space to mm on the page as it is seen, and the size of the page."""
    boxes = _find_inherited(page, "/MediaBox"), _find_inherited(page, "/CropBox")
    media = _A4 if boxes[0] is None else read_box(boxes[0])
    crop = media if boxes[1] is None else read_box(boxes[1])
    left, bottom = max(media[0], crop[0]), max(media[1], crop[1])
    right, top = min(media[2], crop[2]), min(media[3], crop[3])
    if right <= left or top <= bottom:  # a crop that shows nothing is passed over
        left, bottom, right, top = media
    unit = float(page.get("/UserUnit", 1)) or 1.0
    scale = MM * unit * times
    wide, tall = (right - left) * scale, (top - bottom) * scale
    if not 0 < wide < 1e9 or not 0 < tall < 1e9:
        raise ValueError("size")
    turn = round(float(_find_inherited(page, "/Rotate") or 0) / 90) % 4
    turned = {
        0: UNMOVED,
        1: Affine(0.0, -1.0, 1.0, 0.0, 0.0, wide),
        2: Affine(-1.0, 0.0, 0.0, -1.0, wide, tall),
        3: Affine(0.0, 1.0, -1.0, 0.0, tall, 0.0),
    }[turn]
    base = turned @ Affine(a=scale, d=scale, e=-left * scale, f=-bottom * scale)
    return base, (tall, wide) if turn % 2 else (wide, tall)


def _find_inherited(page: Any, key: str) -> Any:
    """An attribute of a page, or of the nearest node above that has it."""
    node, depth = page, 0
    while node is not None and depth < _DEEPEST:
        if key in node:
            return node[key]
        node, depth = node.get("/Parent"), depth + 1
    return None
