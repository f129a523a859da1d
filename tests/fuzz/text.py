"""Changes of files as text: with knowledge of DXF, rule files and XML, and without any.

A change is ``[file, begin, end, text, times]``: what stands there in the sound file is
replaced by the text, so many times.
"""

from __future__ import annotations

import random
import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from tests.fuzz.tree import WORDS

__all__ = ["change_files", "random_splice"]

_NUMBERS = (
    "0", "-0", "1", "-1", "1e308", "-1e308", "1e400", "nan", "inf", "9" * 30, "1e9", "-1e-320",
    "1,5", "1.2.3", "0x1F", "", "1e", "+", "70", "12.5mm", "99999999999", "\u0661", "1_000",
)  # fmt: skip
_DXF_NAMES = (
    "POLYLINE", "LINE", "VERTEX", "SEQEND", "INSERT", "BLOCK", "ENDBLK", "TEXT", "POINT", "EOF",
    "SECTION", "ENDSEC", "SPLINE", "ARC", "LWPOLYLINE", "ELLIPSE", "XYZZY", "#",
)  # fmt: skip
_RULES = ("RULE:", "DELTA", "# 1", "* ", "UNITS: ENGLISH", "SIZE", "NUMBER OF SIZES: 0", "END")
_SVG = (
    "M", "Z", "m0 0", "L", "A1 1 0 0 1 5 5", "C", "rotate(1e9)", "scale(0)", "matrix(1 1 1 1 0 0)",
    "translate(nan)", "e9", "100%", "url(#a)", "<g>", "</g>", "</svg>", "<path/>", "&lt;", "&#0;",
    "&x;", "<!DOCTYPE a>", "<![CDATA[", "<use href='#a'/>", "10 0 0 -5", "display:none", "0mm",
)  # fmt: skip
_BYTES = ("\xff\xfe", "\x00", "\xc3\xa9", "\x80", "\r", "\n", "\ufeff".encode().decode("latin-1"))


def change_files(files: Mapping[str, str], changes: list[Any]) -> dict[str, str]:
    """Make the changes; of two that overlap, the first."""
    made: dict[str, list[Any]] = {}
    for change in changes:
        file, begin, end, *_ = change
        others = made.setdefault(file, [])
        if all(end <= other[1] or begin >= other[2] for other in others):
            others.append(change)
    found = dict(files)
    for file in made.keys() & files.keys():
        for _, begin, end, text, times in sorted(made[file], key=lambda c: c[1], reverse=True):
            found[file] = found[file][:begin] + text * times + found[file][end:]
    return found


def random_splice(files: Mapping[str, str], rng: random.Random) -> list[Any]:
    """Choose one change of the sound files; its text is bytes as latin-1."""
    file, begin, end, text, times = _splice(files, rng)
    return [file, begin, end, _as_bytes(text), times]


def _as_bytes(text: str) -> str:
    """Bytes as latin-1 text; what is no latin-1 becomes its UTF-8."""
    try:
        return text.encode("latin-1").decode("latin-1")
    except UnicodeEncodeError:
        return text.encode("utf-8", "surrogatepass").decode("latin-1")


def _splice(files: Mapping[str, str], rng: random.Random) -> list[Any]:
    file = rng.choice(sorted(files))
    text = files[file]
    if not text or rng.random() < 0.15:
        return [file, *_blind(text, rng)]
    if file.endswith(".svg"):
        return [file, *_of_svg(text, rng)]
    if file.endswith(".dxf"):
        return [file, *_of_dxf(text, rng)]
    if file.endswith(".rul"):
        return [file, *_of_lines(text, rng, (*_RULES, *_NUMBERS))]
    words = (*_NUMBERS, "{", "}", "[", "]", ",", '"', "null", "true", "[" * 2000)
    return [file, *_of_tokens(text, rng, r'"[^"\n]*"|-?\d[\d.]*|[][{},:=]', words)]


def _blind(text: str, rng: random.Random) -> list[Any]:
    """Without knowledge: cut off, take out, repeat, another byte."""
    at = rng.randrange(len(text) + 1)
    other = rng.randrange(len(text) + 1)
    return rng.choice(
        [
            [at, len(text), "", 1],
            [at, at + rng.randrange(1, 400), "", 1],
            [at, at, text[other : other + rng.randrange(1, 2000)], 1],
            [at, at + 1, chr(rng.randrange(256)), 1],
            [at, at + rng.choice([0, 1]), rng.choice(_BYTES), 1],
            [at, at, rng.choice(["0", "\n", " ", "a"]), rng.choice([100, 60_000])],
        ]
    )


@lru_cache(maxsize=200)
def _spans(text: str, pattern: str) -> list[tuple[int, int]]:
    return [match.span() for match in re.finditer(pattern, text)]


@lru_cache(maxsize=50)
def _pairs(text: str) -> list[re.Match[str]]:
    """Group codes and values of a DXF."""
    return list(re.finditer(r" *(\d+)\r?\n(.*)\r?\n", text))


def _of_tokens(text: str, rng: random.Random, pattern: str, words: tuple[str, ...]) -> list[Any]:
    """Put a word in the place of a token, or another token of the file; drop or repeat it."""
    spans = _spans(text, pattern) or [(0, len(text))]
    begin, end = rng.choice(spans)
    a, b = rng.choice(spans)
    return rng.choice(
        [
            [begin, end, rng.choice(words), 1],
            [begin, end, rng.choice(words), 1],
            [begin, end, text[a:b], 1],
            [begin, end, "", 1],
            [begin, end, text[begin:end], rng.choice([2, 2, 50])],
        ]
    )


def _of_lines(text: str, rng: random.Random, words: tuple[str, ...]) -> list[Any]:
    if rng.random() < 0.5:
        return _of_tokens(text, rng, r"-?\d[\d.]*|[A-Z]+", words)
    return _of_tokens(text, rng, r"(?m)^.*\n", tuple(f"{word}\n" for word in words))


def _of_svg(text: str, rng: random.Random) -> list[Any]:
    kind = rng.random()
    if kind < 0.35:
        return _of_tokens(text, rng, r"-?\d+\.?\d*", (*_NUMBERS, *_SVG))
    if kind < 0.65:
        return _of_tokens(text, rng, r'(?<=")[^"<>]*(?=")', (*_SVG, *_NUMBERS, *WORDS))
    if kind < 0.75:
        return _of_tokens(text, rng, r"\b[a-z:-]+(?==)", ("id", "d", "x", "class", "transform"))
    return _of_tokens(text, rng, r"<[^>]*>", _SVG)


def _of_dxf(text: str, rng: random.Random) -> list[Any]:
    """A value of a kind by its group code, a group code, or a whole entity."""
    pairs = _pairs(text)
    if not pairs:
        return _blind(text, rng)
    kind = rng.random()
    if kind < 0.3:
        return _of_tokens(text, rng, r"(?s)  0\n[A-Z]+\n.*?(?=  0\n[A-Z])", ("",))
    pair = rng.choice(pairs)
    if kind < 0.4:
        return [*pair.span(1), rng.choice(["0", "1", "8", "10", "20", "70", "1000", "x", "-5"]), 1]
    code, same = int(pair[1]), [p for p in pairs if p[1] == pair[1]]
    if rng.random() < 0.3:
        return [*pair.span(2), rng.choice(same)[2], 1]
    words: tuple[str, ...] = _NUMBERS if 10 <= code < 100 else WORDS
    if code == 0:
        words = _DXF_NAMES
    elif code == 8:
        words = ("1", "2", "4", "7", "8", "11", "13", "14", "84", "99", "", "1e9")
    elif code == 1:
        words = (*WORDS, "Size: 99", "Piece Name: ", "Quantity: 0", "# 1", "Units: ENGLISH")
    return [*pair.span(2), rng.choice(words), 1]
