"""Texts that may hold anything: cleaned of what a page cannot show, never trusted."""

from __future__ import annotations

import json
import unicodedata
from typing import Any

from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import in_sentence, in_words, name_title, piece_title, shorten_text
from propagate.report.canvas import NARROW, Measured

__all__ = ["PAGE_TEXTS", "clean_text", "cut_short", "json_text", "node_words"]

_KEPT = "\n\t"
_MARK = "\N{REPLACEMENT CHARACTER}"
_WIDE = frozenset("mMW@%—→")


def clean_text(text: str) -> str:
    """Replace characters that a page cannot hold; everything else stays as it is."""
    if text.isprintable():
        return text
    return "".join(
        _MARK if unicodedata.category(c) in ("Cc", "Cs", "Cn") and c not in _KEPT else c
        for c in text
    )


def cut_short(text: str, most: int) -> str:
    """Return A text of at most `most` characters; the rest is left out, as dots say."""
    return shorten_text(clean_text(text), most)


class PageTexts(Measured):
    """Fits bold texts into widths, in a font that is not known: rather too wide than too narrow."""

    def width(self, text: str, size: float, *, bold: bool = True) -> float:  # noqa: ARG002
        """Width of a line, in the unit of `size`."""
        return size * sum(map(_measure_letter, text))


PAGE_TEXTS = PageTexts()


def _measure_letter(c: str) -> float:
    """Estimate the width of a letter in parts of the font's size; from memory of bold fonts."""
    if unicodedata.combining(c):
        return 0.0
    if c in NARROW or c == "_":
        return 0.46 if c in NARROW else 0.52
    if c in _WIDE or c.isupper() or c == "w":
        return 1.12 if c in _WIDE else 0.93 if c == "w" else 0.86
    if ord(c) > 0x2E7F or unicodedata.east_asian_width(c) in "WF":
        return 3.4 if "\ufb50" <= c <= "\ufdff" else 1.4  # whole words in one sign
    return 0.73


def json_text(value: Any) -> str:
    """Return JSON that can stand inside a page: no ``<``, ``>`` or ``&`` is left in it."""
    text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def node_words(pattern: PatternSet, node: str) -> str:
    """Say a node of the relation graph in words, pieces by their titles."""
    if node == "edit":
        return "The edit"
    if node.startswith("level:"):
        return f"Level {name_title(pattern, node.removeprefix('level:'))}"
    of, stroke, edge = node.partition("/") if "/" in node else node.partition(".")
    if not stroke:
        return in_words(pattern, node)
    title = name_title(pattern, of) if of not in pattern.pieces else piece_title(pattern, of)
    assembly = pattern.relations.assemblies.get(of) if stroke == "/" else None
    if assembly is not None:
        pieces = " and ".join(piece_title(pattern, piece) for piece in assembly.pieces)
        title = f"{pieces} taped together"
    return title if edge == "*" else f"{title}, {in_sentence(name_title(pattern, edge, of))}"
