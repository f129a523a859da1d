"""``propagate revise``: receive a revised main piece from outside."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from propagate.cli.options import (
    corners_option,
    follow_option,
    json_option,
)
from propagate.cli.reading import load_set, reading_options, wishes_of
from propagate.cli.revised_set import form_of, tell_set, write_set

if TYPE_CHECKING:
    from propagate.engine.truing import Corners

__all__ = ["command"]

_WITHIN_MM = 0.05
_WIDEST_MM = 5.0

_EXAMPLES = """\b
Examples:
  propagate revise my_set --from new_front.dxf -o my_set_2
  propagate revise my_set --from front.svg --carry proportion -o my_set_2"""


@click.command("revise", epilog=_EXAMPLES)
@click.argument("path", metavar="SET")
@click.option(
    "--from",
    "files",
    metavar="FILE",
    multiple=True,
    required=True,
    help="Revised drawing: DXF, SVG, JSON or a set; repeatable.",
)
@click.option(
    "-o",
    "--out",
    metavar="OUT",
    help="Where to write: a set folder, OUT.dxf or OUT.svg.",
)
@click.option(
    "--piece",
    "names",
    metavar="NAME",
    multiple=True,
    help="Take only these pieces from the files; all that the set knows when left out.",
)
@click.option(
    "--carry",
    type=click.Choice(["millimetres", "proportion"]),
    default="millimetres",
    show_default=True,
    help="How a change drawn in the base size alone goes to the others: the same, or in "
    "proportion to the length of the edge.",
)
@follow_option
@corners_option("left")
@click.option(
    "--within",
    type=float,
    metavar="MM",
    help="An edge that lies this close to the old one is the same.  [default: 0.05, or "
    "when that is wider the curve tolerance that a DXF states, or what coordinates are "
    "rounded to]",
)
@click.option(
    "--onto",
    metavar="DXF",
    help="The DXF that SET came from: what did not change comes back letter for letter.",
)
@click.option("--replace", is_flag=True, help="Take the place of a set that stands there.")
@reading_options
@json_option
def command(
    path: str,
    files: tuple[str, ...],
    out: str | None,
    names: tuple[str, ...],
    carry: Literal["millimetres", "proportion"],
    follow: Literal["shape", "length"],
    corners: Corners,
    within: float | None,
    onto: str | None,
    replace: bool,
    as_json: bool,
    **values: Any,
) -> int:
    """Put revised pieces into SET and carry the change to every companion, in all sizes.

    Pieces are found by their names; the drawing may be turned, mirrored, and start at
    another corner. Without -o nothing is written. Ends with 1 when something does not sew
    together, with 3 when both sides of a seam were revised and disagree.
    """
    from propagate.engine.review.run import review, review_changed
    from propagate.engine.revise import revise
    from propagate.errors import FormatError
    from propagate.io.origin import curve_tolerance
    from propagate.io.output import read_from
    from propagate.io.sent import read_sent

    if within is not None and not 0.001 <= within <= _WIDEST_MM:
        raise click.BadParameter(
            f"found {within:g}, expected 0.001 to {_WIDEST_MM:g} mm", param_hint="--within"
        )
    form = form_of(out, onto)
    pattern = load_set(path)
    wishes = wishes_of(values)
    sent, reading = read_sent(pattern, files, wishes)
    revised = _choose_pieces(pattern.pieces, sent.pieces, names, files)
    stated = curve_tolerance(sent) or 0.0
    if within is None and stated > _WIDEST_MM:
        raise FormatError(
            f"the drawing states a curve tolerance of {stated:g} mm, expected at most "
            f"{_WIDEST_MM:g} mm; say with --within how close an edge must lie to be the same"
        )
    found = revise(
        pattern,
        revised,
        tolerance=stated if within is None and stated > _WITHIN_MM else within,
        carry=carry,
        follow=follow,
        corners=corners,
    )
    writing = None
    if out is not None:
        sources = [*map(read_from, (path, *files)), *([wishes.rules] if wishes.rules else [])]
        writing = write_set(
            found, Path(out), form, sources, onto=onto, wishes=wishes, replace=replace
        )
    before = review(pattern)
    after = review_changed(found.pattern, before) if found.changed else ()
    tell_set(
        found,
        "revise",
        (path, out),
        (before, after),
        reading=reading,
        writing=writing,
        as_json=as_json,
    )
    return 0 if found.sews else 1


def _choose_pieces(ours: Any, theirs: Any, names: tuple[str, ...], files: tuple[str, ...]) -> Any:
    """The pieces to take: those asked for, else those that the set knows by name."""
    from propagate.errors import EditError, UnknownName

    for name in names:
        if name not in theirs:
            raise UnknownName("piece", name, list(theirs), ", ".join(files))
        if name not in ours:
            raise UnknownName("piece", name, list(ours), "the set")
    wanted = names or tuple(name for name in theirs if name in ours)
    if not wanted:
        raise EditError(
            f"{', '.join(files)}: none of the pieces ({', '.join(theirs)}) is in the set "
            f"({', '.join(ours)}); pieces are found by their names"
        )
    return {name: theirs[name] for name in wanted}
