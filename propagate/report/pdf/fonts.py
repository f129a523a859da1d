"""Fonts: which glyphs a text takes, how wide it is, what is missing; embedding what was used.

Text is shaped by HarfBuzz, so that joined and stacked scripts come out right.  A cluster
that the first font lacks is taken from the next one that has it.
"""

from __future__ import annotations

import hashlib
import string
import unicodedata
from collections.abc import Sequence
from functools import cached_property
from importlib import resources
from itertools import pairwise
from pathlib import Path

import pydyf
import uharfbuzz as hb

from propagate.errors import FormatError
from propagate.report.canvas import Measured
from propagate.report.pdf.bidi_runs import DirectedRun, directed_runs
from propagate.report.pdf.stream_file import StreamedFile
from propagate.values import dataclass

__all__ = ["FontBook", "GlyphRun", "put_font"]

_JOINERS = frozenset("\u200c\u200d\ufe0e\ufe0f")
_KEPT = 5000
"""Texts of which is kept how they are shaped."""
_CONTROL = "\N{REPLACEMENT CHARACTER}"
_SYMBOLIC = 4


@dataclass(frozen=True)
class Glyph:
    """A glyph of a shaped run; advances and shifts in thousandths of the text size."""

    number: int
    advance: float
    x_shift: float
    y_shift: float


@dataclass(frozen=True)
class GlyphRun:
    """Glyphs of one font, from left to right."""

    face: FontFace
    glyphs: tuple[Glyph, ...]
    right_to_left: bool = False

    @property
    def width(self) -> float:
        """Width in thousandths of the text size."""
        return sum(glyph.advance for glyph in self.glyphs)


class FontFace:
    """A font file and the glyphs that were used of it.

    Parameters
    ----------
    label : str
        Names the font in messages.
    """

    def __init__(self, data: bytes, label: str) -> None:
        self.label = label
        self.face = hb.Face(hb.Blob(data))
        self.font = hb.Font(self.face)
        if not self.face.glyph_count or not self.face.unicodes:
            raise FormatError(
                f"font '{label}': found no glyphs, expected a TrueType or OpenType font; "
                "give another file"
            )
        self.scale = 1000.0 / float(self.face.upem)
        self.used: dict[int, str] = {}

    @cached_property
    def covered(self) -> frozenset[int]:
        """Code points that the font has glyphs for."""
        return frozenset(self.face.unicodes)

    def has(self, chars: str) -> bool:
        """Tell whether the font can show some characters."""
        return all(ord(c) in self.covered or c in _JOINERS for c in chars)

    def shape(self, text: str, *, right_to_left: bool) -> tuple[Glyph, ...]:
        """Return the glyphs of a text from left to right and note that they are used."""
        buffer = hb.Buffer()
        buffer.add_str(text)
        buffer.guess_segment_properties()
        buffer.direction = "rtl" if right_to_left else "ltr"
        hb.shape(self.font, buffer, {"kern": True, "liga": False})
        infos, places = buffer.glyph_infos, buffer.glyph_positions
        starts = sorted({info.cluster for info in infos} | {len(text)})
        ends = dict(pairwise(starts))
        glyphs, seen = [], set()
        for info, place in zip(infos, places, strict=True):
            chars = "" if info.cluster in seen else text[info.cluster : ends[info.cluster]]
            seen.add(info.cluster)
            self.used.setdefault(info.codepoint, chars)
            glyphs.append(
                Glyph(
                    info.codepoint,
                    place.x_advance * self.scale,
                    place.x_offset * self.scale,
                    place.y_offset * self.scale,
                )
            )
        return tuple(glyphs)

    def advance(self, glyph: int) -> float:
        """Width that the font itself gives a glyph, in thousandths of the text size."""
        return float(self.font.get_glyph_h_advance(glyph)) * self.scale


class FontBook(Measured):
    """The fonts of a document, ordinary and bold, with those to fall back on.

    Parameters
    ----------
    more : sequence of paths
        Further font files, tried in turn for characters that the built-in font lacks.

    Attributes
    ----------
    missing : set of str
        Characters that no font has and that came out as an empty box.
    """

    def __init__(self, more: Sequence[str | Path] = ()) -> None:
        extra = [_read_face(Path(path)) for path in more]
        self.plain = [_load_builtin("DejaVuSans.ttf"), *extra]
        self.bold = [_load_builtin("DejaVuSans-Bold.ttf"), self.plain[0], *extra]
        self.missing: set[str] = set()
        self._shaped: dict[tuple[str, bool], tuple[GlyphRun, ...]] = {}
        self._widths: dict[tuple[str, bool], float] = {}

    @property
    def faces(self) -> list[FontFace]:
        """Every font once."""
        return [self.bold[0], *self.plain]

    def shape(self, text: str, *, bold: bool = False) -> tuple[GlyphRun, ...]:
        """Return the runs of a line from left to right."""
        key = (text, bold)
        if key not in self._shaped:
            runs: list[GlyphRun] = []
            line = "".join(map(_clean_letter, text))
            for directed in directed_runs(line):
                runs += self._faced(directed, self.bold if bold else self.plain)
            if len(self._shaped) > _KEPT:
                self._shaped.clear()
            self._shaped[key] = tuple(runs)
        return self._shaped[key]

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Width of a line, in the unit of `size`."""
        key = (text, bold)
        if key not in self._widths:
            if len(self._widths) > _KEPT:
                self._widths.clear()
            self._widths[key] = sum(run.width for run in self.shape(text, bold=bold))
        return self._widths[key] * size / 1000.0

    def _faced(self, directed: DirectedRun, faces: Sequence[FontFace]) -> list[GlyphRun]:
        """Part a run by the font that has its clusters."""
        parts: list[tuple[FontFace, str]] = []
        for cluster in _part_clusters(directed.text):
            face = next((f for f in faces if f.has(cluster)), None)
            if face is None:
                face = faces[0]
                self.missing.update(c for c in cluster if c not in _JOINERS and not face.has(c))
            if parts and parts[-1][0] is face:
                parts[-1] = (face, parts[-1][1] + cluster)
            else:
                parts.append((face, cluster))
        if directed.right_to_left:
            parts.reverse()
        return [
            GlyphRun(
                face,
                face.shape(text, right_to_left=directed.right_to_left),
                directed.right_to_left,
            )
            for face, text in parts
        ]


def _part_clusters(text: str) -> list[str]:
    """Return characters with the marks and joiners that belong to them."""
    found: list[str] = []
    for char in text:
        kind = unicodedata.category(char)
        joined = char in _JOINERS or unicodedata.combining(char) or kind in ("Mn", "Mc", "Me")
        if found and (joined or found[-1].endswith("\u200d")):
            found[-1] += char
        else:
            found.append(char)
    return found


def _clean_letter(c: str) -> str:
    """Return A character of one line: no control character, and no half of one."""
    if c in "\t\n\r":
        return " "
    return _CONTROL if unicodedata.category(c) in ("Cc", "Cs") else c


def _load_builtin(name: str) -> FontFace:
    data = resources.files("propagate.report.pdf").joinpath("fonts", name).read_bytes()
    return FontFace(data, name.removesuffix(".ttf"))


def _read_face(path: Path) -> FontFace:
    try:
        data = path.read_bytes()
    except OSError as error:
        reason = error.strerror or str(error)
        raise FormatError(f"font '{path}' cannot be read ({reason}); give another file") from error
    return FontFace(data, path.stem)


def put_font(file: StreamedFile, face: FontFace, number: int) -> None:
    """Write a font as a composite font with glyph numbers for codes.

    Parameters
    ----------
    face : FontFace
        `face.used` says which glyphs are kept.
    number : int
        The object that was reserved for the font.
    """
    glyphs = sorted(face.used)
    outlines = "CFF " in face.face.table_tags or "CFF2" in face.face.table_tags
    data = _cut_down(face, glyphs)
    # Six capital letters name the subset.
    digest = hashlib.sha256(f"{face.label}:{glyphs}".encode()).digest()
    tag = "".join(string.ascii_uppercase[byte % 26] for byte in digest[:6])
    plain = "".join(c for c in face.label if c.isascii() and (c.isalnum() or c == "-"))
    name = f"{tag}+{plain or 'Font'}"
    extra: dict[str, object] = {"Subtype": "/OpenType"} if outlines else {"Length1": len(data)}
    program = file.put(pydyf.Stream([data], extra, compress=True))
    descriptor = file.put(_describe_face(face, name, program, outlines=outlines))
    child: dict[str, object] = {
        "Type": "/Font",
        "Subtype": "/CIDFontType0" if outlines else "/CIDFontType2",
        "BaseFont": f"/{name}",
        "CIDSystemInfo": "<</Registry (Adobe) /Ordering (Identity) /Supplement 0>>",
        "FontDescriptor": f"{descriptor} 0 R",
        "DW": 1000,
        "W": f"[{' '.join(f'{glyph} [{face.advance(glyph):.3f}]' for glyph in glyphs)}]",
    }
    if not outlines:
        child["CIDToGIDMap"] = "/Identity"
    descendant = file.put(pydyf.Dictionary(child))
    unicode_map = file.put(pydyf.Stream([_unicode_map(face, glyphs)], compress=True))
    file.put(
        pydyf.Dictionary(
            {
                "Type": "/Font",
                "Subtype": "/Type0",
                "BaseFont": f"/{name}",
                "Encoding": "/Identity-H",
                "DescendantFonts": f"[{descendant} 0 R]",
                "ToUnicode": f"{unicode_map} 0 R",
            }
        ),
        number,
    )


def _cut_down(face: FontFace, glyphs: list[int]) -> bytes:
    wanted = hb.SubsetInput()
    wanted.flags = (
        hb.SubsetFlags.RETAIN_GIDS
        | hb.SubsetFlags.NO_HINTING
        | hb.SubsetFlags.NOTDEF_OUTLINE
        | hb.SubsetFlags.NO_LAYOUT_CLOSURE
    )
    if face.face.has_var_data:
        wanted.pin_all_axes_to_default(face.face)
    wanted.glyph_set.update({0, *glyphs})
    for table in ("GSUB", "GPOS", "GDEF", "kern", "name", "post", "FFTM", "STAT"):
        wanted.drop_table_tag_set.add(int.from_bytes(table.encode(), "big"))
    return bytes(wanted.subset(face.face).blob.data)


def _describe_face(face: FontFace, name: str, program: int, *, outlines: bool) -> pydyf.Dictionary:
    extents = face.font.get_font_extents("ltr")
    top, bottom = extents.ascender * face.scale, extents.descender * face.scale
    return pydyf.Dictionary(
        {
            "Type": "/FontDescriptor",
            "FontName": f"/{name}",
            "Flags": _SYMBOLIC,
            "FontBBox": pydyf.Array([-1000, round(bottom), 2000, round(top)]),
            "ItalicAngle": 0,
            "Ascent": round(top),
            "Descent": round(bottom),
            "CapHeight": 729,
            "StemV": 80,
            "FontFile3" if outlines else "FontFile2": f"{program} 0 R",
        }
    )


def _unicode_map(face: FontFace, glyphs: list[int]) -> bytes:
    pairs = [
        f"<{g:04x}> <{face.used[g].encode('utf-16-be').hex()}>" for g in glyphs if face.used[g]
    ]
    blocks = [pairs[i : i + 100] for i in range(0, len(pairs), 100)]
    body = "\n".join(
        "\n".join([f"{len(block)} beginbfchar", *block, "endbfchar"]) for block in blocks
    )
    return (
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap\n"
        "/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n"
        "/CMapName /Adobe-Identity-UCS def /CMapType 2 def\n"
        "1 begincodespacerange <0000> <ffff> endcodespacerange\n"
        f"{body}\nendcmap CMapName currentdict /CMap defineresource pop end end"
    ).encode()
