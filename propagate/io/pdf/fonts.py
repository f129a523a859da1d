"""Letters and widths of the fonts in a PDF (ISO 32000-1, 9.5 to 9.10)."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Any

from propagate.io.pdf.words import is_stream
from propagate.values import dataclass

__all__ = ["Font", "Glyph", "font_of"]

MOST_CODES = 70_000
_DEFAULT_WIDTH = 0.5
_HELVETICA = (
    "278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 "
    "556 556 556 278 278 584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 "
    "722 778 667 778 722 667 611 722 667 944 667 667 611 278 278 278 469 556 333 556 556 500 556 "
    "556 278 556 556 222 222 500 222 833 556 556 556 556 333 500 278 556 500 722 500 500 500 334 "
    "260 334 584"
)
"""Widths of the letters 32 to 126 of the usual sans-serif font (from memory); the other
standard fonts are measured by them, which is near enough to tell where a word ends."""
_ACCENTS = {
    "acute": 0x301,
    "grave": 0x300,
    "circumflex": 0x302,
    "tilde": 0x303,
    "dieresis": 0x308,
    "ring": 0x30A,
    "caron": 0x30C,
    "cedilla": 0x327,
    "macron": 0x304,
    "breve": 0x306,
    "ogonek": 0x328,
    "dotaccent": 0x307,
    "hungarumlaut": 0x30B,
}
_WORDS = (
    "space=  exclam=! quotedbl=\" numbersign=# dollar=$ percent=% ampersand=& quotesingle=' "
    "parenleft=( parenright=) asterisk=* plus=+ comma=, hyphen=- minus=- period=. slash=/ zero=0 "
    "one=1 two=2 three=3 four=4 five=5 six=6 seven=7 eight=8 nine=9 colon=: semicolon=; less=< "
    "equal== greater=> question=? at=@ bracketleft=[ backslash=\\ bracketright=] underscore=_ "
    "braceleft={ bar=| braceright=} degree=° endash=– emdash=— quoteright=’ quoteleft=‘ "
    "quotedblleft=“ quotedblright=” multiply=× germandbls=ß ae=æ AE=Æ oslash=ø Oslash=Ø oe=œ OE=Œ "
    "onehalf=½ onequarter=¼ threequarters=¾ bullet=• dotlessi=ı fi=fi fl=fl section=§ copyright=© "
    "registered=® trademark=™ lslash=ł Lslash=Ł eth=ð thorn=þ plusminus=± fraction=/ euro=€ Euro=€"
)
_NAMED = {"space": " "} | dict(
    word.split("=", 1) for word in _WORDS.split() if "=" in word and word != "space="
)
_HEX = re.compile(rb"<([0-9A-Fa-f\s]*)>")
_BLOCK = re.compile(rb"begin(bfchar|bfrange|codespacerange)(.*?)end\1", re.DOTALL)
_RANGE = re.compile(rb"<([0-9A-Fa-f\s]*)>\s*<([0-9A-Fa-f\s]*)>\s*(<[0-9A-Fa-f\s]*>|\[[^\]]*\])")


@dataclass(frozen=True)
class Glyph:
    """A letter that is shown: its text (None when nothing tells), its width, 1 the font's size."""

    text: str | None
    width: float
    blank: bool


@dataclass(frozen=True, eq=False)
class Font:
    """How the codes of a font are read.

    Attributes
    ----------
    bytes_a_code : int
    texts : mapping of code to str
    widths : mapping of code to float
        1 is the size of the font.
    default : float
        Width of all others.
    utf16 : bool
        The codes are UTF-16.
    """

    bytes_a_code: int
    texts: Mapping[int, str]
    widths: Mapping[int, float]
    default: float
    utf16: bool = False

    def glyphs(self, data: bytes) -> list[Glyph]:
        """The letters of a string."""
        step, found = self.bytes_a_code, []
        for at in range(0, len(data) - step + 1, step):
            code = int.from_bytes(data[at : at + step])
            text = self.texts.get(code)
            if text is None and self.utf16:
                text = data[at : at + step].decode("utf-16-be", "ignore") or None
            blank = step == 1 and code == 32
            found.append(Glyph(text, self.widths.get(code, self.default), blank))
        return found


def font_of(font: Any) -> Font:
    """Read a font dictionary."""
    unicode_map = font.get("/ToUnicode")
    told, step = _read_cmap(unicode_map.read_bytes()) if is_stream(unicode_map) else ({}, 0)
    if str(font.get("/Subtype", "")) == "/Type0":
        return _read_composite_font(font, told, step)
    texts = dict(_read_encoding(font.get("/Encoding"), font)) | dict(told)
    scale = 0.001
    if str(font.get("/Subtype", "")) == "/Type3":
        scale = abs(float(font["/FontMatrix"][0]))
    first, listed = int(font.get("/FirstChar", 0)), font.get("/Widths")
    if listed is None:
        fixed = "Courier" in str(font.get("/BaseFont", ""))
        standard = [600 if fixed else int(width) for width in _HELVETICA.split()]
        return Font(1, texts, {32 + i: w / 1000 for i, w in enumerate(standard)}, 0.556)
    widths = {first + i: float(width) * scale for i, width in enumerate(list(listed)[:256])}
    return Font(1, texts, widths, _DEFAULT_WIDTH)


def _read_encoding(encoding: Any, font: Any) -> Mapping[int, str]:
    """Code to text by the encoding of a simple font."""
    named = encoding is not None and not hasattr(encoding, "keys")
    base = str(encoding) if named or encoding is None else ""
    changes: Sequence[Any] = ()
    if not base:
        base, changes = str(encoding.get("/BaseEncoding", "")), encoding.get("/Differences", ())
    codec = "mac_roman" if "MacRoman" in base else "cp1252"
    texts = {code: bytes([code]).decode(codec, "ignore") for code in range(32, 256)}
    texts = {code: text for code, text in texts.items() if text}
    if str(font.get("/BaseFont", "")).lstrip("/") in ("Symbol", "ZapfDingbats"):
        texts = {}
    code = 0
    for item in list(changes)[:MOST_CODES]:
        if isinstance(item, int):
            code = item
            continue
        letter = _by_name(str(item).lstrip("/"))
        if letter is None:
            texts.pop(code, None)
        else:
            texts[code] = letter
        code += 1
    return texts


def _by_name(name: str) -> str | None:
    """The letter that a glyph's name stands for."""
    name = name.partition(".")[0]
    if len(name) == 1:
        return name
    if name in _NAMED:
        return _NAMED[name]
    if re.fullmatch(r"uni[0-9A-F]{4}", name) or re.fullmatch(r"u[0-9A-F]{4,6}", name):
        code = int(name.lstrip("uni"), 16)
        return chr(code) if code < 0x110000 else None
    accent = _ACCENTS.get(name[1:])
    return unicodedata.normalize("NFC", name[0] + chr(accent)) if accent else None


def _read_composite_font(font: Any, told: Mapping[int, str], step: int) -> Font:
    below = font["/DescendantFonts"][0]
    encoding = str(font.get("/Encoding", ""))
    utf16 = "UTF16" in encoding or "UCS2" in encoding
    widths: dict[int, float] = {}
    items = list(below.get("/W", ()))[:MOST_CODES]
    while len(items) >= 2 and len(widths) < MOST_CODES:
        first, second = int(items[0]), items[1]
        if isinstance(second, int | float) or not hasattr(second, "__iter__"):
            last = min(int(second), first + MOST_CODES)
            widths |= dict.fromkeys(range(first, last + 1), float(items[2]) / 1000)
            items = items[3:]
        else:
            widths |= {first + i: float(w) / 1000 for i, w in enumerate(second)}
            items = items[2:]
    return Font(step or 2, told, widths, float(below.get("/DW", 1000)) / 1000, utf16)


def _read_cmap(data: bytes) -> tuple[dict[int, str], int]:
    """Code to text of a ToUnicode map, and the bytes of a code."""
    texts: dict[int, str] = {}
    step = 0
    for kind, body in _BLOCK.findall(data[:4_000_000]):
        if kind == b"bfrange":
            for low, high, to in _RANGE.findall(body):
                _add_range(texts, low, high, to)
        else:
            words = [b"".join(word.split()) for word in _HEX.findall(body)]
            pairs = zip(words[::2], words[1::2], strict=False)
            if kind == b"codespacerange":
                step = max([step, *(len(low) // 2 for low, _ in pairs)])
                continue
            for code, to in pairs:
                if code and len(texts) < MOST_CODES:
                    texts[int(code, 16)] = _decode_utf16(to)
    return texts, step


def _add_range(texts: dict[int, str], low: bytes, high: bytes, to: bytes) -> None:
    first, last = (int(b"".join(word.split()) or b"0", 16) for word in (low, high))
    if to.startswith(b"["):
        for i, word in enumerate(_HEX.findall(to)):
            texts[first + i] = _decode_utf16(b"".join(word.split()))
        return
    start = b"".join(to.strip(b"<>").split())
    for i in range(min(last - first + 1, MOST_CODES - len(texts))):
        text = _decode_utf16(start)
        if text:
            texts[first + i] = text[:-1] + chr(min(ord(text[-1]) + i, 0x10FFFF))


def _decode_utf16(word: bytes) -> str:
    text = word.decode().zfill(4)
    return bytes.fromhex(text[: len(text) // 4 * 4]).decode("utf-16-be", "ignore")
