"""The words of a page or a form: its operators, with numbers as floats (ISO 32000-1, 7.8.2)."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

import pikepdf

__all__ = ["LINES", "Instruction", "content_of", "instructions_of", "is_stream"]

Instruction = tuple[str, list[Any]]
LINES = "l ... l"
"""The operator of many ``l`` in a row, whose operands are the numbers of all."""
_IN_PLACE = b"lines"
"""What stands in their place while a page is parsed; no word of PDF."""
_NUMBERS = frozenset((int, Decimal))
_SPACE = rb"[ \t\r\n\f]+"
_NUMBER = rb"[-+]?(?:\d{1,15}(?:\.\d{0,15})?|\.\d{1,15})"
_LINE = rb"%s%s%s%s%sl" % (_SPACE, _NUMBER, _SPACE, _NUMBER, _SPACE)
_RUN = re.compile(rb"m((?:%s){2,})(?=[ \t\r\n\f])" % _LINE)
"""A path that begins with straight lines, from its ``m`` on."""
_NO_WORDS = (rb"\([^)]*m%s" % _LINE, rb"%%[^\r\n]*m%s" % _LINE, rb"BI\s")
"""A text or a note in which such a path stands, and a picture: there it says something else."""
_NO_RUNS = tuple(map(re.compile, _NO_WORDS))


def is_stream(thing: Any) -> bool:
    """Whether an object of a file has bytes of its own."""
    return str(getattr(thing, "_type_name", "")) == "stream"


def content_of(stream: Any, unreadable: tuple[type[Exception], ...]) -> bytes:
    """What a page or a form draws, uncompressed; empty when it cannot be."""
    try:
        if not isinstance(stream, pikepdf.Page):
            return bytes(stream.read_bytes())
        contents = stream.obj.get("/Contents")
        if contents is None:
            return b""
        if isinstance(contents, pikepdf.Array):
            return b"\n".join(bytes(part.read_bytes()) for part in contents)
        return bytes(contents.read_bytes())
    except unreadable:
        return b""


def instructions_of(stream: Any, data: bytes) -> list[Instruction]:
    """The operators of a page or a form with their operands.

    Most of a drawing is straight lines. The library makes an object of every number, so rows of
    them are taken out before, and a word is put in the place of each.

    Parameters
    ----------
    stream : pikepdf.Page or pikepdf.Object
    data : bytes
        Its content, uncompressed.
    """
    runs: list[list[float]] = []
    shorter = data
    if _IN_PLACE not in data and not any(words.search(data) for words in _NO_RUNS):

        def take_out(match: re.Match[bytes]) -> bytes:
            if not data[match.start() - 1 : match.start()].isspace():
                return match[0]
            runs.append(list(map(float, match[1].replace(b"l", b"").split())))
            return b"m %d %s" % (len(runs) - 1, _IN_PLACE)

        shorter = _RUN.sub(take_out, data)
    if runs:
        with pikepdf.new() as scratch:
            found = _parse_words(pikepdf.Stream(scratch, shorter))
            if not scratch.get_warnings():
                in_place = _IN_PLACE.decode()
                return [
                    (LINES, runs[int(operands[0])]) if word == in_place else (word, operands)
                    for word, operands in found
                ]
    return _parse_words(stream)


def _parse_words(stream: Any) -> list[Instruction]:
    return [
        (str(word.operator), [float(v) if v.__class__ in _NUMBERS else v for v in word.operands])
        for word in pikepdf.parse_content_stream(stream)
    ]
