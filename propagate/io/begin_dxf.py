"""Read a DXF for `read_style`: options, names of edges, the report in the common form."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from propagate.errors import FormatError
from propagate.io.options import ReadOptions, dxf_choices
from propagate.io.reading import list_files
from propagate.io.report import ReadingReport, ReportNotes
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.recognise.edge_names import name_edges, turn_upright
from propagate.recognise.way_up import way_up

__all__ = ["read_dxf"]

_NEUTRAL = re.compile(r"edge_\d+")


def read_dxf(paths: Sequence[Path], wishes: ReadOptions) -> tuple[PatternSet, ReadingReport]:
    """Read a DXF with its rule file; edges without names are named by their place.

    Raises
    ------
    FormatError
        The files cannot be read, or an option is none of the reader's.
    """
    from propagate.io.dxf.read import read

    files = list_files(paths, ".dxf", ".rul")
    drawings = [file for file in files if file.suffix.lower() == ".dxf"]
    rules = [wishes.rules] if wishes.rules else [f for f in files if f.suffix.lower() == ".rul"]
    if wishes.unit not in (None, "mm", "cm", "in"):
        raise FormatError(f"found the unit '{wishes.unit}', expected mm, cm or in for a DXF")
    dxf_choices(wishes)  # one that is none is refused first
    own = not rules or _each_beside_its_own(drawings, rules)
    by_place: list[str] = []

    def names_by_place(piece: str, sized: SizedPiece) -> Mapping[str, str]:
        if not all(_NEUTRAL.fullmatch(name) for name in sized.edge_names):
            return {}
        by_place.append(piece)
        names = name_edges(
            [edge.points for edge in sized.edges], turn_upright(sized.grain.direction)
        )
        return dict(zip(sized.edge_names, names, strict=True))

    options = replace(wishes, rules=None if own else rules[0])
    pattern, report = read(drawings, options, name_edges=names_by_place)
    notes = ReportNotes()
    notes.extend(report.lines)
    nests = {name: pattern.pieces[name].nest for name in by_place}
    bases = {n: nest.get(pattern.base) or next(iter(nest.values())) for n, nest in nests.items()}
    said, doubts = way_up(bases)
    for words in (said, *doubts) if said else ():
        notes.add("assumed", words)
    return pattern, ReadingReport("DXF", tuple(map(str, [*drawings, *rules])), notes.lines)


def _each_beside_its_own(drawings: Sequence[Path], rules: Sequence[Path]) -> bool:
    """Tell whether every rule file has the name of one of several drawings beside it.

    Raises
    ------
    FormatError
        Several rule files, and it is open which drawing they belong to.
    """
    stems = {file.resolve().with_suffix("") for file in drawings}
    alone = [file for file in rules if file.resolve().with_suffix("") not in stems]
    if len(rules) > 1 and alone:
        raise FormatError(
            f"found {len(rules)} rule files ({', '.join(file.name for file in rules[:4])}), "
            f"expected one, or each with the name of its DXF: '{alone[0].name}' has none"
        )
    return len(drawings) > 1 and not alone
