"""Read a DXF for `read_style`: options, names of edges, the report in the common form."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from propagate.errors import FormatError
from propagate.io.dxf.choices import CHOICES, dxf_choices
from propagate.io.report import LineKind, ReadingLine, ReadingReport, ReportNotes
from propagate.io.wishes import Wishes
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.recognise.edge_names import name_edges, upright
from propagate.recognise.way_up import way_up

__all__ = ["read_dxf"]

_NEUTRAL = re.compile(r"edge_\d+")
_DXF_SPELT = {
    "units": "--unit",
    "rules": "--rules",
    "corner_deg": "--corner-angle",
    "base": "--base",
    "sizes": "--sizes",
    "name": "--name",
}


def read_dxf(paths: Sequence[Path], wishes: Wishes) -> tuple[PatternSet, ReadingReport]:
    """Read a DXF with its rule file; edges without names are named by their place.

    Raises
    ------
    FormatError
        The files cannot be read, or an option is none of the reader's.
    """
    from propagate.io.dxf.options import ReadOptions
    from propagate.io.dxf.read import read

    files = [
        file for path in paths for file in (sorted(path.iterdir()) if path.is_dir() else [path])
    ]
    drawings = [file for file in files if file.suffix.lower() == ".dxf"]
    rules = [wishes.rules] if wishes.rules else [f for f in files if f.suffix.lower() == ".rul"]
    if wishes.unit not in (None, "mm", "cm", "in"):
        raise FormatError(f"found the unit '{wishes.unit}', expected mm, cm or in for a DXF")
    extra = _dxf_choices(wishes.dxf)
    if wishes.unit is not None:
        extra["units"] = wishes.unit
    if wishes.corner_angle is not None:
        extra["corner_deg"] = wishes.corner_angle
    if rules and not _each_beside_its_own(drawings, rules):
        extra["rules"] = rules[0]
    by_place: list[str] = []

    def names_by_place(piece: str, sized: SizedPiece) -> Mapping[str, str]:
        names = _names_by_place(sized)
        by_place.extend([piece] if names else [])
        return names

    options = ReadOptions(
        name=wishes.name or "",
        base=wishes.base or "",
        sizes=wishes.sizes,
        name_edges=names_by_place,
        **extra,  # type: ignore[arg-type]
    )
    pattern, report = read(drawings, options)
    notes = ReportNotes()
    for note in report.notes:
        notes.extend([_line_of(note)])
    said, doubts = way_up({name: _base(pattern, name) for name in by_place})
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


def _dxf_choices(said: Mapping[str, str]) -> dict[str, object]:
    """The options of the DXF reader that are a choice of words, or a length."""
    from propagate.io.checks import parse_length

    choices = dxf_choices()
    found: dict[str, object] = {}
    for key, value in said.items():
        if key == "allowance":
            length = parse_length(value, bare="mm")
            if length is None or length < 0:
                raise FormatError(f"found the allowance '{value}', expected a length of 0 or more")
            found[key] = length
        elif value in choices.get(key, ()):
            found[key] = value
        else:
            known = "; ".join(f"{k}={'|'.join(words)}" for k, words in choices.items())
            raise FormatError(
                f"found '{key}={value}' for a DXF, expected {known}; allowance=LENGTH"
            )
    return found


def _base(pattern: PatternSet, piece: str) -> SizedPiece:
    """A piece in the base size, or in the first in which it is drawn."""
    nest = pattern.pieces[piece].nest
    return nest[pattern.base] if pattern.base in nest else next(iter(nest.values()))


def _names_by_place(sized: SizedPiece) -> Mapping[str, str]:
    """Names for the edges of a piece whose file names none of them."""
    if not all(_NEUTRAL.fullmatch(name) for name in sized.edge_names):
        return {}
    up = upright(sized.grain.direction)
    names = name_edges([edge.points for edge in sized.edges], up)
    return dict(zip(sized.edge_names, names, strict=True))


def _line_of(note: object) -> ReadingLine:
    """A line of a report as the DXF reader and writer keep them."""
    option = getattr(note, "option", "")
    warning = getattr(note, "severity", "") == "warning"
    kind: LineKind = "warning" if warning else "assumed" if option else "found"
    where = getattr(note, "where", "")
    text = str(getattr(note, "text", note)).rstrip(".")
    words = [_spelt(word.strip()) for word in option.split(",") if word.strip()]
    return ReadingLine(kind, f"{where}: {text}" if where else text, ", ".join(words) or None)


def _spelt(option: str) -> str:
    """An option of the DXF reader as the command line has it."""
    if option in (*CHOICES, "allowance"):
        return f"--dxf {option}=..."
    return _DXF_SPELT.get(option, option)
