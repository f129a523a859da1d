"""Which size a file is, and the order of the sizes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from propagate.counts import say_count
from propagate.errors import FormatError
from propagate.io.clean_names import clean_name
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.io.svg.sorting import looks_like_size

__all__ = ["ONE_SIZE", "choose_base", "size_of_files", "sorted_sizes"]

ONE_SIZE = "one"
_PARTS = re.compile(r"[-_ .]+")
_LETTER_SIZES = re.compile(r"(?P<count>\d?)(?P<more>X*)(?P<kind>[SL])|M", re.IGNORECASE)


def size_of_files(files: Sequence[Path], options: ReadOptions, notes: ReportNotes) -> list[str]:
    """The size of each file that has no groups for sizes.

    Raises
    ------
    FormatError
        When the sizes cannot be told apart.
    """
    if not files:
        return []
    parts = [_PARTS.split(file.stem) for file in files]
    if options.sizes and len(options.sizes) == len(files):
        named = [[size for size in options.sizes if size in part] for part in parts]
        if all(len(found) == 1 for found in named) and len({f[0] for f in named}) == len(files):
            return [found[0] for found in named]
        each = zip(files, options.sizes, strict=True)
        pairs = ", ".join(f"{file.name} is {size}" for file, size in each)
        notes.add("assumed", f"sizes in the order of the files: {pairs}", option="--sizes")
        return list(options.sizes)
    if options.sizes:
        raise FormatError(
            f"found {say_count(len(files), 'file')} without groups called "
            f"{', '.join(options.sizes)}, expected a group for each of these sizes, or "
            "as many files as sizes"
        )
    sizes = []
    for part in parts:  # the last part of a file's name that looks like a size
        texts = (re.sub("^(?:size|sz|gr)", "", text, flags=re.IGNORECASE) for text in part[::-1])
        sizes.append(next((text for text in texts if text and looks_like_size(text)), ""))
    if len(files) == 1:
        size = sizes[0] or ONE_SIZE
        where = "from the file's name" if sizes[0] else "since nothing names another"
        notes.add(
            "assumed",
            f"the drawing is of one size, called '{size}' {where}",
            option="--sizes",
            file=files[0].name,
        )
        return [size]
    if not all(sizes) or len(set(sizes)) != len(sizes):  # the only part that is not alike in all
        alike = len({len(part) for part in parts}) == 1
        columns = zip(*parts, strict=True) if alike else ()
        differ = [column for column in columns if len(set(column)) > 1]
        sizes = [clean_name(text) for text in differ[0]] if len(differ) == 1 else [""]
    if not all(sizes) or len(set(sizes)) != len(sizes):
        raise FormatError(
            f"the sizes of the {len(files)} files cannot be told from their names "
            f"({', '.join(file.name for file in files[:4])}...); give them in the order of the "
            "files with --sizes"
        )
    notes.add("assumed", f"sizes from the names of the files: {', '.join(sizes)}", option="--sizes")
    return sizes


def sorted_sizes(sizes: Sequence[str], options: ReadOptions, notes: ReportNotes) -> tuple[str, ...]:
    """Smallest first: as asked for, by number, by letter; else as they are drawn."""
    if options.sizes:
        order = [size for size in options.sizes if size in sizes]
        missing = [size for size in options.sizes if size not in sizes]
        if missing:
            raise FormatError(
                f"found no size '{missing[0]}' in the drawing, expected "
                f"{', '.join(options.sizes)}; drawn are {', '.join(sizes)}"
            )
        return tuple(order)
    ranks = [_rank(size) for size in sizes]
    kinds = {rank[0] for rank in ranks if rank is not None}
    if None in ranks or len(kinds) != 1:
        if len(sizes) > 1:
            notes.add("assumed", "the sizes are in the order of drawing", option="--sizes")
        return tuple(sizes)
    return tuple(sorted(sizes, key=lambda size: _rank(size) or ("", 0.0)))


def choose_base(sizes: Sequence[str], options: ReadOptions, notes: ReportNotes) -> str:
    """The base size: as asked for, else the middle one.

    Raises
    ------
    FormatError
        The one that was asked for is not there.
    """
    if options.base is not None:
        if options.base not in sizes:
            raise FormatError(
                f"found no size '{options.base}' in the drawing for the base size, expected one "
                f"of {', '.join(sizes)}"
            )
        return options.base
    base = sizes[(len(sizes) - 1) // 2]
    if len(sizes) > 1:
        notes.add("assumed", f"the base size is '{base}', the middle one", option="--base")
    return base


def _rank(size: str) -> tuple[str, float] | None:
    number = re.match(r"\d+", size)
    letters = _LETTER_SIZES.fullmatch(size)
    if letters:
        if letters["kind"] is None:
            return "letters", 0.0
        extra = int(letters["count"]) if letters["count"] else len(letters["more"])
        step = 1.0 + extra
        return "letters", -step if letters["kind"].upper() == "S" else step
    return ("number", float(number[0])) if number else None
