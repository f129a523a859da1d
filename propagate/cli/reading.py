"""What a reader or writer of files has to say, at 80 columns; shared options of reading."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

from propagate.cli.group import SET_KEY

if TYPE_CHECKING:
    from propagate.engine.record import Record
    from propagate.engine.run import Result
    from propagate.io.options import ReadOptions
    from propagate.io.output import Written
    from propagate.io.report import ReadingLine, ReadingReport
    from propagate.pattern.patternset import PatternSet

__all__ = [
    "headed_lines",
    "load_changed",
    "load_record",
    "load_set",
    "load_source",
    "reading_lines",
    "reading_options",
    "tell_kept",
    "tell_reading",
    "wishes_of",
]

Function = TypeVar("Function", bound=Callable[..., Any])

_OPTIONS = (
    click.option("--name", help="Name of the set; taken from the files when left out."),
    click.option(
        "--sizes",
        metavar="A,B,C",
        help="The sizes, smallest first, by commas or blanks: names of the size groups, or one for "
        "each file.",
    ),
    click.option("--base", metavar="SIZE", help="Base size; the middle one when left out."),
    click.option(
        "--unit",
        type=click.Choice(["mm", "cm", "in", "pt", "px"]),
        help="What one unit of the files is; told from the files when left out.",
    ),
    click.option(
        "--dpi", type=float, default=96.0, show_default=True, help="px to the inch (SVG)."
    ),
    click.option(
        "--corner-angle",
        type=float,
        metavar="DEGREES",
        help="Turn from which an outline without names is split.  [default: 25]",
    ),
    click.option(
        "--join", type=float, default=0.1, show_default=True, help="Gaps to close, mm (SVG)."
    ),
    click.option(
        "--notch",
        type=float,
        default=15.0,
        show_default=True,
        help="Longest line on the outline that is a notch, mm (SVG).",
    ),
    click.option(
        "--ignore", metavar="GROUP", multiple=True, help="Leave this group out (SVG); repeatable."
    ),
    click.option(
        "--scale",
        type=float,
        default=1.0,
        show_default=True,
        help="Make every length this many times as long (PDF).",
    ),
    click.option(
        "--tiles",
        metavar="COLUMNSxROWS",
        help="How the pages of a tiled PDF lie, row by row; found when left out.",
    ),
    click.option(
        "--overlap",
        metavar="LENGTH",
        help="What two pages of a tiled PDF both show; found when left out.",
    ),
    click.option(
        "--boundary",
        type=click.Choice(["seam", "cut"]),
        help="What an outline is that is drawn alone; the seam line when left out.",
    ),
    click.option(
        "--allowance",
        metavar="[[PIECE.]EDGE=]LENGTH",
        multiple=True,
        help="Allowance of a cut line, of all edges or one, such as 10mm, hem=40mm; repeatable.",
    ),
    click.option("--rules", metavar="FILE", help="Grade-rule file of a DXF."),
    click.option(
        "--dxf",
        metavar="KEY=VALUE",
        multiple=True,
        help="How a DXF is read, such as boundary=cut, mirror=unfold; repeatable.",
    ),
)


def reading_options(function: Function) -> Function:
    """Add the options of reading, in a fixed order."""
    for option in reversed(_OPTIONS):
        function = option(function)
    return function


def wishes_of(values: dict[str, Any]) -> ReadOptions:
    """The options of reading as the readers take them.

    Raises
    ------
    click.BadParameter
        For a number that makes no sense.
    """
    import re
    from pathlib import Path

    from propagate.cli.options import read_length, read_pairs
    from propagate.io.options import ReadOptions

    for key, low, high in (("dpi", 1.0, 100000.0), ("join", 0.0, 10.0), ("notch", 0.0, 100.0)):
        if not low <= values[key] <= high:
            raise click.BadParameter(
                f"found {values[key]:g}, expected {low:g} to {high:g}", param_hint=f"--{key}"
            )
    if not 0.01 <= values["scale"] <= 100.0:
        raise click.BadParameter(
            f"found {values['scale']:g}, expected 0.01 to 100", param_hint="--scale"
        )
    angle = values["corner_angle"]
    if angle is not None and not 1.0 <= angle <= 120.0:
        raise click.BadParameter(
            f"found {angle:g}, expected 1 to 120 degrees", param_hint="--corner-angle"
        )
    tiles = overlap = None
    if values["tiles"] is not None:
        match = re.fullmatch(r"\s*(\d{1,3})\s*[xX×]\s*(\d{1,3})\s*", values["tiles"])
        tiles = (int(match[1]), int(match[2])) if match is not None else (0, 0)
        if 0 in tiles:
            raise click.BadParameter(
                f"found '{values['tiles']}', expected columns x rows, such as 5x4",
                param_hint="--tiles",
            )
    if values["overlap"] is not None:
        overlap = read_length(values["overlap"], "--overlap", least=0.0)
    said = values["sizes"] or ""
    sizes = [size.strip() for size in (said.split(",") if "," in said else said.split())]
    return ReadOptions(
        name=values["name"],
        base=values["base"],
        sizes=tuple(size for size in sizes if size),
        unit=values["unit"],
        dpi=values["dpi"],
        corner_angle=angle,
        join=values["join"],
        notch=values["notch"],
        ignore=tuple(values["ignore"]),
        tiles=tiles,
        overlap=overlap,
        scale=values["scale"],
        rules=Path(values["rules"]) if values["rules"] else None,
        dxf=read_pairs(values["dxf"], "--dxf", "KEY=VALUE, such as boundary=cut"),
        boundary=values["boundary"] or "auto",
        allowances=tuple(values["allowance"]),
    )


# ------------------------------------------------------------------------------ loading


def load_set(path: str) -> PatternSet:
    """Load a set for a command; warnings of reading its DXF are pointed out."""
    from propagate.io.folder import load

    pattern = load(path)
    context = click.get_current_context(silent=True)
    if context is not None:
        context.meta[SET_KEY] = pattern  # what a refused edit is explained by
    tell_reading(pattern, path)
    return pattern


def load_source(path: str) -> PatternSet | Result:
    """Load a set or a result for a command, as `load_set` does."""
    from propagate.io.result_folder import has_record, load_result

    if not has_record(path):
        return load_set(path)
    result = load_result(path)
    tell_reading(result.pattern, path)
    return result


def load_record(path: str, size: str | None) -> Result:
    """Load a result, or a changed set in one size, for a command, as `load_set` does."""
    from propagate.io.result_folder import load_result

    result = load_result(path, size)
    tell_reading(result.pattern, path)
    return result


def load_changed(
    path: str, size: str | None = None, *, whole: bool = False
) -> tuple[PatternSet | Result, Mapping[str, Record]]:
    """Load a set or a result; of a changed set the result in one size, and all its records.

    That is the size asked for, else the base size, or the first that changed where it did not.

    Parameters
    ----------
    path : str
    size : str or None
    whole : bool
        Load all sizes of a changed set with the record of the one.
    """
    from propagate.io.output import read_from
    from propagate.io.record_json import read_revised
    from propagate.io.result_folder import REVISED_FILE, has_revision, load_result

    if not has_revision(path):
        return load_source(path), {}
    file = read_from(path) / REVISED_FILE
    records = read_revised(file.read_text("utf-8"), str(file))
    result = load_result(path, size, whole=whole)
    if size is None and records and result.record.size not in records:
        result = load_result(path, next(iter(records)), whole=whole)
    tell_reading(result.pattern, path)
    return result, records


def tell_reading(pattern: PatternSet, path: str) -> None:
    """Say in one line, on the standard error, that reading the DXF of a set gave warnings."""
    from propagate.cli.options import say_warning
    from propagate.io.folder import reading_of
    from propagate.visible import shell_word

    reading = reading_of(pattern)
    count = sum(line.count for line in reading.of("warning")) if reading is not None else 0
    if reading is not None and count:
        word = "warning" if count == 1 else "warnings"
        file = reading.files[0].replace("\\", "/").rpartition("/")[2]
        shown = shell_word(path)
        say_warning(f"reading {file} gave {count} {word}; to see them: propagate show {shown}")


def tell_kept(written: Written) -> None:
    """Say, on the standard error, where a set.toml that somebody had changed is kept."""
    from propagate.cli.options import say_warning

    if written.kept is not None:
        say_warning(written.kept_words)


# ------------------------------------------------------------------------------- reports

_HEADS = {
    "lost": "not carried",
    "warning": "to look at",
    "assumed": "taken for granted",
    "repaired": "put right",
    "kept": "kept as it was",
    "ignored": "left out",
    "found": "found",
}


def reading_lines(report: ReadingReport) -> list[str]:
    """The lines of a report under a heading for each kind; lines that are alike once."""
    from propagate.report.layout import lay_heading, wrap_sentence

    lines: list[str] = []
    for kind, head in _HEADS.items():
        alike: dict[tuple[str, str | None], list[ReadingLine]] = {}
        for line in report.lines:
            if line.kind == kind:
                alike.setdefault((line.text, line.option), []).append(line)
        if alike:
            lines += lay_heading(head)
        for (text, option), group in alike.items():
            pieces = [line.piece for line in group if line.piece]
            places = [_say_some("piece", pieces)]
            if pieces:
                said = [size for line in group if line.size for size in line.size.split(", ")]
                places.append(_say_some("size", said))
            else:
                places.append(_say_some("file", [line.file for line in group if line.file]))
            times = sum(line.count for line in group)
            if times > len(group):
                places.append(f"{times} times")
            where = "; ".join(place for place in places if place)
            words = f"{text} ({where})" if where else text
            lines += wrap_sentence(f"{words} [{option}]" if option else words, 2, 2)
    return lines


def headed_lines(report: ReadingReport, doing: str) -> list[str]:
    """The lines of a report under what was done, such as reading; none for a report without."""
    from propagate.report.layout import lay_heading

    if not report.lines:
        return []
    return [*lay_heading(f"{doing} the {report.format}"), *reading_lines(report)]


def _say_some(what: str, names: Sequence[str], shown: int = 6) -> str:
    """Some of the names, each once; empty for none."""
    names = list(dict.fromkeys(names))
    if len(names) < 2:
        return f"{what} {names[0]}" if names else ""
    more = f" and {len(names) - shown} more" if len(names) > shown else ""
    return f"{what}s {', '.join(names[:shown])}{more}"
