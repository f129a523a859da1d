"""Texts that may hold anything: cleaned of what a page cannot show, never trusted."""

from __future__ import annotations

import json
import unicodedata
from typing import Any

from propagate.pattern.patternset import PatternSet

__all__ = ["clean", "cut_short", "json_text", "node_words"]

_KEPT = "\n\t"
_MARK = "\N{REPLACEMENT CHARACTER}"


def clean(text: str) -> str:
    """Replace characters that a page cannot hold; everything else stays as it is."""
    if text.isprintable():
        return text
    return "".join(
        _MARK if unicodedata.category(c) in ("Cc", "Cs", "Cn") and c not in _KEPT else c
        for c in text
    )


def cut_short(text: str, most: int) -> str:
    """A text of at most `most` characters; the rest is left out, as dots say."""
    text = clean(text)
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def json_text(value: Any) -> str:
    """JSON that can stand inside a page: no ``<``, ``>`` or ``&`` is left in it."""
    text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def node_words(pattern: PatternSet, node: str) -> str:
    """Say a node of the relation graph in words, pieces by their titles."""
    if node == "edit":
        return "The edit"
    if node.startswith("level:"):
        return f"Level {node.removeprefix('level:')}"
    if "/" in node:
        name, _, edge = node.partition("/")
        assembly = pattern.relations.assemblies.get(name)
        if assembly is None:
            return f"{_title(pattern, name)}, edge {edge}"
        pieces = [assembly.lead, *(part.piece for part in assembly.parts)]
        return f"{' and '.join(_title(pattern, p) for p in pieces)} taped together, edge {edge}"
    piece, dot, edge = node.partition(".")
    if not dot:
        return node
    return _title(pattern, piece) if edge == "*" else f"{_title(pattern, piece)}, edge {edge}"


def _title(pattern: PatternSet, piece: str) -> str:
    info = pattern.info.get(piece)
    return info.title if info is not None else piece
