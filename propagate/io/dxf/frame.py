"""The text of a DXF file as blocks of entities, each a stretch of lines.

Only the frame of the format is read here: pairs of lines (group code, value), sections,
blocks, entities.  A file whose frame is broken goes through ezdxf's recovery reader
(`propagate.io.dxf.damaged`).  An entity stays a range of line pairs, so that what is
not understood can be written back as it stood.
"""

from __future__ import annotations

import codecs
import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from propagate.errors import FormatError
from propagate.io.dxf.conventions import MAX_BLOCKS, MAX_BYTES, MAX_ENTITIES, MAX_LINES

__all__ = [
    "BrokenFrame",
    "Entity",
    "RawBlock",
    "RawFile",
    "check_file_size",
    "decode_drawing",
    "parse_file",
]

_CODE_PAGE = re.compile(rb"\$DWGCODEPAGE\s+3\s+(\S+)", re.IGNORECASE)
_VERSION = re.compile(rb"\$ACADVER\s+1\s+AC(\d+)", re.IGNORECASE)
_STRETCH = 1_000_000
_INNER = ("VERTEX", "ATTRIB", "SEQEND")
_UNICODE = re.compile(r"\\[Uu]\+([0-9A-Fa-f]{4})")


class BrokenFrame(ValueError):
    """The lines do not make a sound DXF file; says what is wrong."""


class Entity(NamedTuple):
    """One entity: line pairs `begin` up to `end` of its file, vertices included."""

    kind: str
    begin: int
    end: int


@dataclass
class RawBlock:
    """A block as it stands in the file.

    Attributes
    ----------
    name : str
    entities : list of Entity
    begin, head, end : int
        Line pairs: of ``BLOCK``, of its first entity, behind its ``ENDBLK``.
    tail : int
        Line pair of ``ENDBLK``.
    base : (x, y)
    """

    name: str
    begin: int
    head: int
    tail: int = 0
    end: int = 0
    base: tuple[float, float] = (0.0, 0.0)
    entities: list[Entity] = field(default_factory=list)


@dataclass
class RawFile:
    """A DXF file as line pairs.

    Attributes
    ----------
    name : str
        For messages.
    codes, values : lists of str
        The line pairs; codes without blanks.
    blocks : list of RawBlock
    entities : list of Entity
        Of the section ENTITIES.
    header : mapping of variable name to its first value
    encoding : str
    recovered : bool
        What stands here is what could be read of a damaged file.
    cut_off : str
        What the file ends in, when it has no end.
    """

    name: str
    codes: Sequence[str]
    values: Sequence[str]
    encoding: str = "ascii"
    blocks: list[RawBlock] = field(default_factory=list)
    entities: list[Entity] = field(default_factory=list)
    header: dict[str, str] = field(default_factory=dict)
    recovered: bool = False
    cut_off: str = ""

    def value(self, index: int) -> str:
        """Return one value as text, with written-out characters resolved."""
        text = self.values[index]
        if "\\" in text:
            text = _UNICODE.sub(lambda match: chr(int(match[1], 16)), text)
        return text

    def text(self, begin: int, end: int) -> str:
        """Return line pairs as they are written in a file."""
        pairs = zip(self.codes[begin:end], self.values[begin:end], strict=True)
        return "".join(f"{code:>3}\n{value}\n" for code, value in pairs)


def check_file_size(data: bytes, name: str) -> None:
    """Refuse a file that would take too long or too much memory, or is in UTF-16."""
    if len(data) > MAX_BYTES:
        raise FormatError(
            f"{name}: found {len(data) / 1e6:.0f} MB, expected at most {MAX_BYTES / 1e6:.0f} MB; "
            "split the style into several files"
        )
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) or _every_other_is_nul(data):
        raise FormatError(
            f"{name}: found UTF-16 text (two bytes for each letter), expected ASCII or UTF-8; "
            "save it as plain text in UTF-8 and read it again"
        )
    lines = max(data.count(b"\n"), data.count(b"\r"))
    if lines > MAX_LINES:
        raise FormatError(
            f"{name}: found {lines} lines, expected at most {MAX_LINES}; "
            "split the style into several files"
        )


def _every_other_is_nul(data: bytes) -> bool:
    """Tell whether text is in UTF-16 without a mark at its beginning."""
    head = data[:400]
    return any(
        len(head) >= 20 and not any(nul) and all(letter) for nul, letter in (
            (head[1::2], head[0::2]), (head[0::2], head[1::2])
        )
    )  # fmt: skip


def decode_drawing(data: bytes) -> tuple[str, str]:
    """Return the text of a file and its encoding; any byte survives the way back."""
    if data.isascii():
        return data.decode("ascii"), "ascii"
    stated = _CODE_PAGE.search(data[:100_000])
    version = _VERSION.search(data[:100_000])
    page = stated[1].decode("latin-1").lower() if stated else ""
    encoding = page.replace("ansi_", "cp")
    if version and int(version[1][:6]) >= 1021:  # from memory: UTF-8 since AC1021
        encoding = "utf-8"
    try:
        codecs.lookup(encoding or "utf-8")
    except LookupError:
        encoding = ""
    if not encoding:
        try:
            return data.decode("utf-8-sig"), "utf-8"
        except UnicodeDecodeError:
            encoding = "cp1252"
    return data.decode(encoding, errors="surrogateescape"), encoding


def parse_file(text: str, name: str, encoding: str = "ascii") -> RawFile:
    """Find sections, blocks and entities.

    Raises
    ------
    BrokenFrame
        The frame is not sound.
    FormatError
        More blocks than can be read.
    """
    codes, values, odd = _pair_codes(text)
    last = [*itertools.chain.from_iterable(zip(codes[-10:], values[-10:], strict=True)), odd or ""]
    ended = any(line.strip().upper() == "EOF" for line in last)
    if odd is not None and ended:
        raise BrokenFrame(f"found {2 * len(codes) + 1} lines, expected pairs of lines")
    if not ended and codes and not codes[-1].lstrip("-").isdigit():
        codes.pop()
        values.pop()
    for code in set(codes):
        if not (code.isascii() and code.lstrip("-").isdigit()):
            shown = "".join(char if char.isprintable() else "?" for char in code[:20])
            raise BrokenFrame(f"found the group code '{shown}', expected a whole number")
    file = RawFile(name, codes, values, encoding)
    _find_sections(file)
    return file


def _pair_codes(text: str) -> tuple[list[str], list[str], str | None]:
    """Group codes without blanks, values, and the line left over when their number is odd.

    A stretch at a time, so that each group code is held once and not once for each line.
    """
    text = text.lstrip("\ufeff").replace("\r\n", "\n").replace("\r", "\n").rstrip()
    codes: list[str] = []
    values: list[str] = []
    words: dict[str, str] = {}
    place, held = 0, ""
    while place < len(text):
        stop = text.find("\n", place + _STRETCH)
        stop = len(text) if stop < 0 else stop
        lines = text[place:stop].split("\n")
        place = stop + 1
        if held:
            lines.insert(0, held[1:])
        held = "=" + lines.pop() if len(lines) % 2 else ""
        own = lines[0::2]
        for code in set(own) - words.keys():
            words[code] = code.strip()
        codes += [words[code] for code in own]
        values += lines[1::2]
    return codes, values, held[1:] if held else None


def _find_sections(file: RawFile) -> None:
    zeros = [index for index, code in enumerate(file.codes) if code == "0"]
    if len(zeros) > MAX_ENTITIES:
        raise FormatError(
            f"{file.name}: found {len(zeros)} entities, expected at most {MAX_ENTITIES}; "
            "split the style into several files"
        )
    kinds = {word: word.strip().upper() for word in {file.values[index] for index in zeros}}
    # vertices and attributes belong to the entity before them
    starts = [index for index in zeros if kinds[file.values[index]] not in _INNER]
    section, block, ended = "", None, False
    for index, end in itertools.pairwise([*starts, len(file.codes)]):
        kind = kinds[file.values[index]]
        if kind in ("SECTION", "ENDSEC", "EOF"):
            if block is not None or (kind == "ENDSEC") != bool(section):
                place = "a block" if block is not None else section or "no section"
                raise BrokenFrame(f"found {kind} inside {place}")
            ended = ended or kind == "EOF"
            section = ""
            if kind == "SECTION":
                section = file.values[index + 1].strip().upper() if index + 1 < end else "?"
            if section == "HEADER":
                _read_header(file, index + 2, end)
        elif section == "BLOCKS" and kind == "BLOCK":
            if block is not None:
                raise BrokenFrame("found BLOCK inside a block")
            block = _read_block(file, index, end)
        elif section == "BLOCKS" and kind == "ENDBLK":
            if block is None:
                raise BrokenFrame("found ENDBLK without BLOCK")
            block.tail, block.end = index, end
            block = None
        elif block is not None:
            block.entities.append(Entity(kind, index, end))
        elif section == "ENTITIES":
            file.entities.append(Entity(kind, index, end))
    if not ended and not starts:
        raise BrokenFrame("found nothing of a DXF file")
    if not ended:
        file.cut_off = f"block '{block.name}'" if block else section or "no section"
        if block is not None:
            file.blocks.pop()


def _read_header(file: RawFile, begin: int, end: int) -> None:
    for index in range(begin, end - 1):
        if file.codes[index] == "9":
            file.header[file.values[index].strip().upper()] = file.values[index + 1].strip()


def _read_block(file: RawFile, begin: int, end: int) -> RawBlock:
    if len(file.blocks) >= MAX_BLOCKS:
        raise FormatError(
            f"{file.name}: found more than {MAX_BLOCKS} blocks; split the style into several files"
        )
    name, base = "", [0.0, 0.0]
    for index in range(begin + 1, end):
        code = file.codes[index]
        if code == "2" and not name:
            name = file.value(index).strip()
        elif code in ("10", "20"):
            try:
                base[code == "20"] = float(file.values[index].replace(",", "."))
            except ValueError:
                raise BrokenFrame(f"block '{name}': its base point is no number") from None
    block = RawBlock(name, begin, end, base=(base[0], base[1]))
    file.blocks.append(block)
    return block
