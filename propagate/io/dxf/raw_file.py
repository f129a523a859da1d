"""The frame of a file: sound, cut off, damaged or binary."""

from __future__ import annotations

from propagate.errors import FormatError
from propagate.io.dxf.conventions import MAX_CUT_OFF_LINES
from propagate.io.dxf.recovered import BINARY, recover
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.tags import BrokenFrame, RawFile, check_size, decode, parse

__all__ = ["load_raw"]


def load_raw(data: bytes, name: str, notes: Notes) -> tuple[RawFile, bytes]:
    """Read the frame of a file, by the recovery reader when it is damaged.

    Returns
    -------
    file, data
        The data of a damaged file is what could be read of it, made sound.
    """
    check_size(data, name)
    reason = "it is a binary DXF file"
    if not data.startswith(BINARY):
        if not data.strip():
            raise FormatError(f"{name}: the file is empty, expected a DXF file")
        text, encoding = decode(data)
        if encoding != "ascii":
            notes.info(f"the file holds characters beyond ASCII, read as {encoding}", where=name)
        try:
            file = parse(text, name, encoding)
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
    file = recover(data, name, reason)
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
        repaired = parse(again.decode("utf-8", errors="surrogateescape"), name, "utf-8")
    except BrokenFrame as error:
        raise FormatError(
            f"{name}: cannot be read as DXF ({reason}; repair failed: {error}); export it again"
        ) from error
    repaired.recovered = True
    return repaired, again
