"""Write the fonts of a document into its file: only the glyphs that were used."""

from __future__ import annotations

import hashlib
import string

import pydyf
import uharfbuzz as hb

from propagate.report.pdf.fonts import FontFace
from propagate.report.pdf.stream_file import StreamedFile

__all__ = ["put_font"]

_SYMBOLIC = 4


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
