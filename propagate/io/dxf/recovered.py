"""Damaged and binary files, read by ezdxf and handed on as line pairs."""

from __future__ import annotations

import io
import logging
from typing import Any

from propagate.errors import FormatError
from propagate.io.dxf.conventions import MAX_RECOVER_LINES
from propagate.io.dxf.tags import Entity, RawBlock, RawFile

__all__ = ["BINARY", "recover"]

BINARY = b"AutoCAD Binary DXF"  # how a binary file begins


def recover(data: bytes, name: str, reason: str) -> RawFile:
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
        return _convert(_document(data), name)
    except FormatError:
        raise
    except Exception as error:  # the recovery reader raises whatever its input provokes
        raise FormatError(
            f"{name}: cannot be read as DXF ({reason}; repair failed: "
            f"{type(error).__name__}: {str(error)[:100]}); export it again"
        ) from error


def _document(data: bytes) -> Any:
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


def _convert(document: Any, name: str) -> RawFile:
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
        block.entities = [_entity(entity, codes, values) for entity in layout]
        block.tail = block.end = len(codes)
        file.blocks.append(block)
    file.entities = [_entity(entity, codes, values) for entity in document.modelspace()]
    return file


def _entity(entity: Any, codes: list[str], values: list[str]) -> Entity:
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
