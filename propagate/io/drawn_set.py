"""A set whose geometry is a DXF with its rule file: read it, and write it back."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from propagate.errors import FormatError
from propagate.io.begin import Wishes
from propagate.io.begin_dxf import read_dxf
from propagate.io.checks import UnreadableFile
from propagate.io.drawing import Drawing, drawing_of
from propagate.io.dxf.conventions import RULE_SUFFIXES
from propagate.io.dxf.nest import DxfNest, DxfSource, source_of
from propagate.io.dxf.options import WriteOptions
from propagate.io.dxf.write import rendered
from propagate.io.levels import without_levels
from propagate.io.set_toml import SetHead
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["drawing_files", "read_drawing", "wishes_of"]

READS_BACK_MM = 0.03
"""A file that was drawn anew reads back within this, or the set is not kept in it."""


def wishes_of(head: SetHead, rules: Path | None = None) -> Wishes:
    """Return how the DXF of a set is read, as `read_dxf` takes it."""
    choices = dict(head.dxf)
    angle, unit = choices.pop("corner_angle", None), choices.pop("unit", None)
    return Wishes(
        base=head.base,
        unit=None if unit is None else str(unit),
        corner_angle=None if angle is None else float(angle),
        rules=rules,
        dxf={key: str(value) for key, value in choices.items()},
    )


def read_drawing(file: Path, head: SetHead) -> tuple[dict[str, Piece], Drawing]:
    """Read the DXF of a set, in the sizes of the set.

    Parameters
    ----------
    file : Path
        The relations file that names it.
    head : SetHead

    Raises
    ------
    UnreadableFile
        The DXF is not there or cannot be read, or a size is missing.
    """
    path = file.parent / head.geometry
    if not path.is_file():
        raise UnreadableFile(
            [
                f"{file}: geometry: there is no '{head.geometry}' beside it, expected the DXF of "
                "the set; put it there, or correct the name"
            ]
        )
    rules = next((p for end in RULE_SUFFIXES if (p := path.with_suffix(end)).is_file()), None)
    try:
        pattern, reading = read_dxf([path], wishes_of(head, rules))
    except UnreadableFile:
        raise
    except FormatError as error:
        raise UnreadableFile([f"{file}: geometry '{head.geometry}': {error}"]) from error
    source = _source(pattern)
    rule_file = None if rules is None else rules.name
    faults = [f"{file}: {line}" for line in _missing(pattern, head, rule_file)]
    if faults:
        raise UnreadableFile(faults)
    order = [name for name in head.info if name in pattern.pieces]
    order += [name for name in pattern.pieces if name not in head.info]
    pieces = {
        name: Piece(
            name,
            DxfNest(name, {s: pattern.pieces[name].nest[s] for s in head.sizes}, source),
        )
        for name in order
    }
    return pieces, Drawing(source, rule_file, reading)


def _source(pattern: PatternSet) -> DxfSource:
    source = source_of(pattern)
    if source is None:  # one file was read, so there is one
        raise FormatError(f"set '{pattern.name}': its pieces come from more than one drawing")
    return source


def _missing(pattern: PatternSet, head: SetHead, rule_file: str | None) -> list[str]:
    """Sizes of the set that the drawing, or one of its pieces, does not have."""
    hint = "" if rule_file else "; no rule file stands beside it, which may be what is missing"
    unknown = [size for size in head.sizes if size not in pattern.sizes]
    if unknown:
        return [
            f"sizes: found '{size}', which '{head.geometry}' does not have, expected sizes among "
            f"{', '.join(pattern.sizes)}{hint}"
            for size in unknown
        ]
    return [
        f"piece '{name}': '{head.geometry}' does not draw it in size {', '.join(lacking)}, "
        f"expected every size of the set; draw it, or leave the size out of 'sizes'{hint}"
        for name, piece in pattern.pieces.items()
        if (lacking := [f"'{size}'" for size in head.sizes if size not in piece.nest])
    ]


# ------------------------------------------------------------------------------- writing


def drawing_files(pattern: PatternSet, head: SetHead) -> dict[str, bytes] | None:
    """Return the DXF and the rule file of a set, only changed pieces drawn anew.

    None when the file cannot hold the set: when it has sizes that the set does not have
    and a piece changed, or when the changed pieces would not read back as they are.
    """
    drawing = drawing_of(pattern)
    if drawing is None:
        return None
    source = drawing.source
    names = {".dxf": head.geometry, ".rul": drawing.rule_file or _beside(head.geometry)}
    changed = [name for name, piece in pattern.pieces.items() if not _as_read(piece, source)]
    if not changed and set(pattern.pieces) == set(source.pieces):
        files = {".dxf": source.data}
        if source.rules is not None:
            files[".rul"] = source.rules
        return {names[end]: data for end, data in files.items()}
    if source.recovered or any(set(nest) - set(pattern.sizes) for nest in source.pieces.values()):
        return None
    bare = replace(
        pattern,
        pieces={
            name: without_levels(piece, head.levels) if name in changed else piece
            for name, piece in pattern.pieces.items()
        },
    )
    found, _ = rendered(bare, WriteOptions(), source)
    files = {names[end]: data for end, data in found.items()}
    return files if _reads_back(bare, head, files, changed) else None


def _as_read(piece: Piece, source: DxfSource) -> bool:
    nest = piece.nest
    return isinstance(nest, DxfNest) and nest.source is source and nest.name == piece.name


def _beside(geometry: str) -> str:
    return str(Path(geometry).with_suffix(RULE_SUFFIXES[0]))


def _reads_back(
    pattern: PatternSet, head: SetHead, files: Mapping[str, bytes], changed: list[str]
) -> bool:
    """Read what would be written, and compare the pieces that were drawn anew."""
    with tempfile.TemporaryDirectory() as folder:
        for name, data in files.items():
            (Path(folder) / name).write_bytes(data)
        try:
            pieces, _ = read_drawing(Path(folder) / "set.toml", head)
        except FormatError:
            return False
    return set(pieces) == set(pattern.pieces) and all(
        _alike(pattern.pieces[name].nest[size], pieces[name].nest[size])
        for name in changed
        for size in pattern.sizes
    )


def _alike(a: SizedPiece, b: SizedPiece) -> bool:
    """The same names in the same places, as near as the file's digits and rules allow."""
    if a.edge_names != b.edge_names or len(a.darts) != len(b.darts):
        return False
    if {m.name: (m.edge, m.kind) for m in a.landmarks} != {
        m.name: (m.edge, m.kind) for m in b.landmarks
    } or set(a.levels) != set(b.levels):
        return False
    points = [(m.point, b.landmark(m.name).point) for m in a.landmarks]
    points += [(at, b.levels[name]) for name, at in a.levels.items()]
    for mine, theirs in zip(a.edges, b.edges, strict=True):
        if abs(mine.length - theirs.length) > READS_BACK_MM:
            return False
        points += [(tuple(mine.points[k]), tuple(theirs.points[k])) for k in (0, -1)]
    return all(float(np.hypot(*np.subtract(p, q))) <= READS_BACK_MM for p, q in points)
