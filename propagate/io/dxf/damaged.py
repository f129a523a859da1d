"""The frame of a file that is cut off, damaged or binary: what can be read of it, made sound."""

from __future__ import annotations

import io
import logging
from typing import Any

from propagate.errors import FormatError
from propagate.io.dxf.conventions import MAX_CUT_OFF_LINES, MAX_RECOVER_LINES
from propagate.io.dxf.frame import (
    BrokenFrame,
    Entity,
    RawBlock,
    RawFile,
    check_file_size,
    decode_drawing,
    parse_file,
)
from propagate.io.report import ReportNotes

__all__ = ["load_raw"]


def load_raw(data: bytes, name: str, notes: ReportNotes) -> tuple[RawFile, bytes]:
    """Read the frame of a file, by the recovery reader when it is damaged.

    Returns
    -------
    file, data
        The data of a damaged file is what could be read of it, made sound.
    """
    check_file_size(data, name)
    reason = "it is a binary DXF file"
    if not data.startswith(BINARY):
        if not data.strip():
            raise FormatError(f"{name}: the file is empty, expected a DXF file")
        text, encoding = decode_drawing(data)
        if encoding != "ascii":
            notes.info(f"the file holds characters beyond ASCII, read as {encoding}", where=name)
        try:
            file = parse_file(text, name, encoding)
        except BrokenFrame as error:
            reason = str(error)
        else:
            if not file.cut_off:
                return file, data
            if 2 * len(file.codes) > MAX_CUT_OFF_LINES:
                raise FormatError(
                    f"{name}: the file is cut off inside {file.cut_off} and has more than "
                    f"{MAX_CUT_OFF_LINES} lines, too many to repair; export it again"
                )
            notes.warn(
                f"the file is cut off inside {file.cut_off}; what stands whole before it was read",
                where=name,
            )
            return _made_sound(file, name, "it is cut off")
    file = recover_file(data, name, reason)
    notes.warn(
        f"the file is not sound text ({reason}); what could be read of it was made sound",
        where=name,
    )
    return _made_sound(file, name, reason)


def _made_sound(file: RawFile, name: str, reason: str) -> tuple[RawFile, bytes]:
    """Write what was read of a damaged file as a sound one, and read that."""
    blocks = [
        f"  0\nBLOCK\n  8\n0\n  2\n{block.name}\n 70\n0\n 10\n{block.base[0]!r}\n 20\n"
        f"{block.base[1]!r}\n 30\n0.0\n  3\n{block.name}\n"
        + file.text(block.head, block.tail)
        + "  0\nENDBLK\n  8\n0\n"
        for block in file.blocks
    ]
    inside = "".join(file.text(entity.begin, entity.end) for entity in file.entities)
    head = "".join(f"  9\n{k}\n 70\n{v}\n" for k, v in file.header.items() if k == "$INSUNITS")
    sound = (
        f"  0\nSECTION\n  2\nHEADER\n  9\n$ACADVER\n  1\nAC1009\n{head}  0\nENDSEC\n"
        f"  0\nSECTION\n  2\nBLOCKS\n{''.join(blocks)}  0\nENDSEC\n"
        f"  0\nSECTION\n  2\nENTITIES\n{inside}  0\nENDSEC\n  0\nEOF\n"
    )
    again = sound.encode("utf-8", errors="surrogateescape")
    try:
        repaired = parse_file(again.decode("utf-8", errors="surrogateescape"), name, "utf-8")
    except BrokenFrame as error:
        raise FormatError(
            f"{name}: cannot be read as DXF ({reason}; repair failed: {error}); export it again"
        ) from error
    repaired.recovered = True
    return repaired, again


# ---------------------------------------------------------------------------------- read by ezdxf

BINARY = b"AutoCAD Binary DXF"  # how a binary file begins


def recover_file(data: bytes, name: str, reason: str) -> RawFile:
    """Read what can be read of a damaged or binary file.

    Raises
    ------
    FormatError
        Nothing can be read, or the file is too long for it.
    """
    lines = data.count(b"\n") + data.count(b"\r")
    if data.startswith(BINARY):
        lines = len(data) // 10  # a coordinate takes ten bytes
    if lines > MAX_RECOVER_LINES:
        raise FormatError(
            f"{name}: {reason}; it is damaged and has more than {MAX_RECOVER_LINES} lines, too "
            "many to repair; export it again"
        )
    try:
        return _convert_document(_load_document(data), name)
    except FormatError:
        raise
    except Exception as error:  # the recovery reader raises whatever its input provokes
        raise FormatError(
            f"{name}: cannot be read as DXF ({reason}; repair failed: "
            f"{type(error).__name__}: {str(error)[:100]}); export it again"
        ) from error


def _load_document(data: bytes) -> Any:
    from ezdxf import recover as reader
    from ezdxf.document import Drawing
    from ezdxf.lldxf.tagger import binary_tags_loader

    log = logging.getLogger("ezdxf")
    level = log.level
    log.setLevel(logging.CRITICAL + 1)  # what it repairs is said in our own words
    try:
        if data.startswith(BINARY):
            document = Drawing.load(binary_tags_loader(data))
        else:
            document, _ = reader.read(io.BytesIO(data))
    finally:
        log.setLevel(level)
    return document


def _convert_document(document: Any, name: str) -> RawFile:
    codes: list[str] = []
    values: list[str] = []
    file = RawFile(name, codes, values, "utf-8", recovered=True)
    for variable in ("$INSUNITS", "$ACADVER"):
        value = document.header.get(variable)
        if value is not None:
            file.header[variable] = str(value)
    for layout in document.blocks:
        if layout.name.startswith(("*", "$")):
            continue
        x, y, *_ = layout.block.dxf.base_point
        block = RawBlock(layout.name, len(codes), len(codes), base=(float(x), float(y)))
        block.entities = [_convert_entity(entity, codes, values) for entity in layout]
        block.tail = block.end = len(codes)
        file.blocks.append(block)
    file.entities = [_convert_entity(entity, codes, values) for entity in document.modelspace()]
    return file


def _convert_entity(entity: Any, codes: list[str], values: list[str]) -> Entity:
    from ezdxf.lldxf.tagwriter import TagCollector

    begin = len(codes)
    kind = entity.dxftype()
    if kind == "LWPOLYLINE":  # the release that all is written in has it in the old form only
        _old_polyline(entity, codes, values)
        return Entity("POLYLINE", begin, len(codes))
    release = "AC1015" if kind == "MTEXT" else "AC1009"
    for tag in TagCollector.dxftags(entity, dxfversion=release):
        if tag.code == 102 or tag.code in (5, 330, 100):
            continue
        codes.append(str(tag.code))
        values.append(str(tag.value))
    return Entity(kind, begin, len(codes))


def _old_polyline(entity: Any, codes: list[str], values: list[str]) -> None:
    layer = str(entity.dxf.layer)
    mirrored = "-1" if entity.dxf.extrusion.z < 0 else "1"
    head = {"0": "POLYLINE", "8": layer, "66": "1", "70": str(int(entity.closed)), "230": mirrored}
    codes += head
    values += head.values()
    for x, y, bulge in entity.get_points("xyb"):
        codes += ("0", "8", "10", "20", "30", "42")
        values += ("VERTEX", layer, repr(float(x)), repr(float(y)), "0.0", repr(float(bulge)))
    codes += ("0", "8")
    values += ("SEQEND", layer)
