"""A set whose geometry is a DXF with its rule file: read it, and write it back."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from propagate.errors import FormatError
from propagate.io.begin import read_dxf
from propagate.io.dxf.conventions import RULE_SUFFIXES
from propagate.io.dxf.write import render_drawing
from propagate.io.geometry_toml import LevelsThrough, without_levels
from propagate.io.options import ReadOptions, WriteOptions
from propagate.io.origin import Drawing, origin_of, source_of
from propagate.io.reading import UnreadableFile
from propagate.io.report import ReadingReport
from propagate.io.set_toml import SetHead, parse_set
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["drawing_files", "read_drawing", "rules_beside", "wishes_for", "wishes_of"]

_CHOICES = ("unit", "corner-angle", "boundary", "allowance", "allowances")
READS_BACK_MM = 0.03
"""A file that was drawn anew reads back within this, or the set is not kept in it."""


def wishes_of(head: SetHead, rules: Path | None = None) -> ReadOptions:
    """Return how the DXF of a set is read, as `read_dxf` takes it."""
    choices = dict(head.dxf)
    angle, unit = choices.pop("corner_angle", None), choices.pop("unit", None)
    edges = choices.pop("allowances", None)
    return ReadOptions(
        base=head.base,
        unit=None if unit is None else str(unit),
        corner_angle=float(angle) if isinstance(angle, (int, float)) else None,
        rules=rules,
        dxf={key: str(value) for key, value in choices.items()},
        allowances=_say_allowances(edges) if isinstance(edges, Mapping) else (),
    )


def _say_allowances(edges: Mapping[str, float]) -> tuple[str, ...]:
    """Allowances of edges as they are typed."""
    return tuple(f"{edge}={float(width)}mm" for edge, width in edges.items())


def wishes_for(pattern: PatternSet, asked: ReadOptions) -> tuple[ReadOptions, tuple[str, ...]]:
    """How a drawing that is sent for a set is read: as the set's own, unless asked otherwise.

    Its unit is its own to state; what else `[dxf]` of the set says holds for it too.

    Returns
    -------
    wishes : ReadOptions
    taken : tuple of str
        What was taken from the set, as ``KEY=VALUE``.
    """
    origin = origin_of(pattern)
    if origin.text is None or origin.drawing is None:
        return asked, ()
    own = wishes_of(parse_set(origin.text.decode("utf-8-sig"), "set.toml"))
    new = {key: value for key, value in own.dxf.items() if key not in asked.dxf}
    angle = asked.corner_angle if asked.corner_angle is not None else own.corner_angle
    taken = [f"{key}={value}" for key, value in sorted(new.items())]
    if asked.corner_angle is None and own.corner_angle is not None:
        taken.append(f"corner_angle={own.corner_angle:g}")
    taken += own.allowances
    wishes = replace(
        asked,
        dxf={**new, **asked.dxf},
        corner_angle=angle,
        allowances_of_set=own.allowances,
    )
    return wishes, tuple(taken)


def rules_beside(path: Path) -> Path | None:
    """Return the rule file that stands beside a DXF."""
    return next((p for end in RULE_SUFFIXES if (p := path.with_suffix(end)).is_file()), None)


def read_drawing(
    path: Path, head: SetHead, said: str, rules: Path | None = None
) -> tuple[dict[str, Piece], Drawing]:
    """Read the DXF of a set, in the sizes of the set.

    Parameters
    ----------
    path : Path
        The DXF.
    said : str
        Name of the relations file, for messages.
    rules : Path or None
        The rule file; None looks for one beside the DXF.

    Raises
    ------
    UnreadableFile
        The DXF is not there or cannot be read, or a size is missing.
    """
    if not path.is_file():
        raise UnreadableFile(
            f"{said}: geometry: there is no '{path.name}' beside it, expected the DXF of "
            "the set; put it there, or correct the name"
        )
    rules = rules or rules_beside(path)
    try:
        pattern, reading = read_dxf([path], wishes_of(head, rules))
        data = path.read_bytes()
    except (FormatError, OSError) as error:
        raise UnreadableFile(f"{said}: geometry '{path.name}': {error}") from error
    source = source_of(pattern)
    if source is None:  # one file was read, so there is one
        raise FormatError(f"set '{pattern.name}': its pieces come from more than one drawing")
    faults = [f"{said}: {line}" for line in _tell_missing(pattern, head, path.name, rules)]
    if faults:
        raise UnreadableFile(*faults)
    order = [name for name in head.info if name in pattern.pieces]
    order += [name for name in pattern.pieces if name not in head.info]
    pieces = {
        name: Piece(name, {s: pattern.pieces[name].nest[s] for s in head.sizes}) for name in order
    }
    # The rule file keeps its own name where it would be found beside the DXF.
    names = [str(Path(head.geometry).with_suffix(end)) for end in RULE_SUFFIXES]
    rule_file = rules.name if rules is not None and rules.name in names else names[0]
    return pieces, Drawing(source, data, rule_file, _name_places(reading))


def _name_places(reading: ReadingReport) -> ReadingReport:
    """The report with the place in ``set.toml`` that changes what was taken for granted."""
    lines = []
    for line in reading.lines:
        if line.option == "lay_on":  # levels are the relations file's to say
            continue
        places = []
        for word in filter(None, map(str.strip, (line.option or "").split(","))):
            key = word.removeprefix("--dxf ").removesuffix("=...").removeprefix("--")
            key = key.replace("allowance ", "allowances.")
            if word.startswith("--dxf ") or key.split(".")[0] in _CHOICES:
                key = f"dxf.{key.replace('-', '_')}"
            if key != "rules":  # of a set the rule file is the one that stands beside its DXF
                places.append(f"{key} in set.toml")
        lines.append(replace(line, option=", ".join(places) or None))
    return replace(reading, lines=tuple(lines))


def _tell_missing(pattern: PatternSet, head: SetHead, file: str, rules: Path | None) -> list[str]:
    """Sizes of the set that the drawing, or one of its pieces, does not have."""
    hint = "" if rules else "; no rule file stands beside it, which may be what is missing"
    unknown = [size for size in head.sizes if size not in pattern.sizes]
    if unknown:
        return [
            f"sizes: found '{size}', which '{file}' does not have, expected sizes among "
            f"{', '.join(pattern.sizes)}{hint}"
            for size in unknown
        ]
    return [
        f"piece '{name}': '{file}' does not draw it in size {', '.join(lacking)}, "
        f"expected every size of the set; draw it, or leave the size out of 'sizes'{hint}"
        for name, piece in pattern.pieces.items()
        if (lacking := [f"'{size}'" for size in head.sizes if size not in piece.nest])
    ]


def drawing_files(pattern: PatternSet, head: SetHead) -> dict[str, bytes] | None:
    """Return the DXF and the rule file of a set, only changed pieces drawn anew.

    None when the file cannot hold the set: when it has sizes that the set does not have
    and a piece changed, or when the changed pieces would not read back as they are.
    """
    origin = origin_of(pattern)
    drawing = origin.drawing
    if drawing is None:
        return None
    source = drawing.source
    names = {".dxf": head.geometry, ".rul": drawing.rule_file}
    changed = [
        name
        for name, piece in pattern.pieces.items()
        if not origin.holds(_put_back_levels(piece, origin.pieces.get(name), head.levels))
    ]
    if not changed and set(pattern.pieces) == set(source.pieces):
        files = {".dxf": drawing.data}
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
    found, _ = render_drawing(bare, WriteOptions(), source)
    files = {names[end]: data for end, data in found.items()}
    return files if _reads_back(bare, head, files, changed) else None


def _put_back_levels(piece: Piece, read: Piece | None, levels: LevelsThrough) -> Piece:
    """A piece with the levels that it was read with, where the relations file says its others."""
    bare = without_levels(piece, levels)
    if read is None or bare is piece or read.nest.keys() != piece.nest.keys():
        return piece
    nest = {}
    for size, sized in bare.nest.items():
        own = {name: at for name, at in read.nest[size].levels.items() if name not in sized.levels}
        nest[size] = replace(sized, levels={**sized.levels, **own})
    return Piece(piece.name, nest)


def _reads_back(
    pattern: PatternSet, head: SetHead, files: Mapping[str, bytes], changed: list[str]
) -> bool:
    """Read what would be written, and compare the pieces that were drawn anew."""
    with tempfile.TemporaryDirectory() as folder:
        for name, data in files.items():
            (Path(folder) / name).write_bytes(data)
        try:
            pieces, _ = read_drawing(Path(folder) / head.geometry, head, pattern.name)
        except FormatError:
            return False
    return set(pieces) == set(pattern.pieces) and all(
        size in pieces[name].nest
        and _are_alike(pattern.pieces[name].nest[size], pieces[name].nest[size])
        for name in changed
        for size in pattern.sizes
    )


def _are_alike(a: SizedPiece, b: SizedPiece) -> bool:
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
