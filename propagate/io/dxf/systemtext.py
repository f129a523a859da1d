"""System text ("Keyword: value") of a style and of its pieces."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from propagate.io.dxf.conventions import PIECE_WORDS, STYLE_WORDS, SYSTEM_TEXT, VERSION_WORDS
from propagate.io.dxf.shapes import Text

__all__ = ["keyword", "quantity", "sort_text"]

_BLANKS = re.compile(r"[\s_]+")


def keyword(text: str) -> tuple[str, str] | None:
    """Split "Keyword: value"; the keyword in lower case with single blanks."""
    match = SYSTEM_TEXT.fullmatch(text)
    if match is None:
        return None
    return _BLANKS.sub(" ", match[1].strip().lower()), match[2]


def sort_text(texts: Iterable[Text]) -> tuple[dict[str, str], list[Text]]:
    """Return the system text by keyword and the texts that are none.

    The first of a repeated keyword counts.  A version line is kept as ``version``.
    """
    known: dict[str, str] = {}
    others: list[Text] = []
    for text in texts:
        if text.text.strip().lower().startswith(VERSION_WORDS):
            known.setdefault("version", text.text)
            continue
        pair = keyword(text.text)
        if pair is not None and pair[0] in (*STYLE_WORDS, *PIECE_WORDS):
            known.setdefault(*pair)
        else:
            others.append(text)
    return known, others


def quantity(words: Mapping[str, str]) -> tuple[int, int] | None:
    """Return the two counts (as drawn, mirrored), or None when there are none."""
    counts = [int(word) for word in re.findall(r"\d+", words.get("quantity", ""))[:2]]
    if not counts or max(counts) > 1000 or sum(counts) == 0:
        return None
    return counts[0], (counts[1] if len(counts) > 1 else 0)
