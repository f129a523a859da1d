"""Do edits and tell of them: what ``change`` and ``apply`` have in common."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from propagate.cli.options import Function
from propagate.cli.reading import load_set
from propagate.cli.revised_set import form_of, tell_set, write_set

if TYPE_CHECKING:
    from propagate.engine.applying import NamedEdit
    from propagate.engine.truing import Corners
    from propagate.pattern.amount import Grading

__all__ = ["do_edits", "out_options", "size_option"]


def size_option(function: Function) -> Function:
    """Add ``--sizes``."""
    return click.option(
        "--sizes",
        metavar="SIZE,...",
        help="These sizes alone, also sizes between sizes; every size of the nest when left out.",
    )(function)


def out_options(function: Function) -> Function:
    """Add ``-o`` and ``--replace``."""
    function = click.option(
        "--replace", is_flag=True, help="Take the place of a set that stands there."
    )(function)
    return click.option(
        "-o", "--out", metavar="OUT", help="Where to write: a set folder, OUT.dxf or OUT.svg."
    )(function)


def do_edits(
    command: str,
    path: str,
    edits: Sequence[NamedEdit],
    *,
    sizes: str | Sequence[str] | None,
    graded: Grading,
    follow: Literal["shape", "length"],
    corners: Corners,
    out: str | None,
    replace: bool,
    as_json: bool,
    files: Sequence[str] = (),
) -> int:
    """Do edits on a set, write it, tell what became of it; returns the exit status."""
    from propagate.engine.applying import apply_edits
    from propagate.engine.review.run import review, review_changed
    from propagate.io.output import read_from
    from propagate.pattern.validate import check_set

    form = form_of(out, None)
    pattern = load_set(path)
    asked = [size.strip() for size in sizes.split(",")] if isinstance(sizes, str) else sizes or ()
    found = apply_edits(pattern, edits, sizes=asked, graded=graded, follow=follow, corners=corners)
    if found.changed:
        check_set(found.pattern)  # else it could not be loaded again
    writing = None
    if out is not None:
        sources = [read_from(path), *map(Path, files)]
        writing = write_set(found, Path(out), form, sources, replace=replace)
    before = review(pattern)
    some = len(found.records) < len(found.pattern.sizes)
    after = review_changed(found.pattern, before, some_sizes=some)
    tell_set(found, command, (path, out), (before, after), writing=writing, as_json=as_json)
    return 0 if found.sews else 1
