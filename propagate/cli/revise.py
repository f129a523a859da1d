"""``propagate revise``: receive a revised main piece from outside."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

import click

from propagate.cli.app import LIMITS
from propagate.cli.options import json_option, say, say_json
from propagate.cli.reading import reading_lines, reading_options, wishes_of

if TYPE_CHECKING:
    from propagate.engine.revise import Revised
    from propagate.io.report import ReadingReport

__all__ = ["command"]

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
@click.option("-o", "--out", metavar="FOLDER", help="Where to write the revised set.")
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
@click.option(
    "--within",
    type=float,
    default=0.05,
    show_default=True,
    help="An edge that lies this close to the old one is the same, mm.",
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
    within: float,
    replace: bool,
    as_json: bool,
    **values: Any,
) -> int:
    """Put revised pieces into SET and carry the change to every companion, in all sizes.

    Pieces are found by their names; the drawing may be turned, mirrored, and start at
    another corner. Without -o nothing is written. Ends with 1 when something does not sew
    together, with 3 when both sides of a seam were revised and disagree.
    """
    from propagate.engine.revise import revise
    from propagate.io.begin import read_style
    from propagate.io.folder import load, save

    if not 0.001 <= within <= 5.0:
        raise click.BadParameter(f"found {within:g}, expected 0.001 to 5 mm", param_hint="--within")
    pattern = load(path)
    sent, reading = read_style(list(files), wishes_of(values))
    revised = _wanted(pattern.pieces, sent.pieces, names, files)
    found = revise(pattern, revised, tolerance=within, carry=carry)
    if out is not None:
        extra = {"revised.json": _rendered(found)} if found.changed else {}
        save(found.pattern, out, replace=replace, extra=extra)
    sews = all(_sews(record) for record in found.records.values())
    if as_json:
        from propagate.report.revise_text import revised_plain

        say_json(
            {
                "command": "revise",
                "changed": found.changed,
                "sews": sews,
                "written_to": out,
                "reading": reading.plain(),
                **revised_plain(found),
            }
        )
    else:
        _tell(found, reading, out)
    return 0 if sews else 1


def _wanted(ours: Any, theirs: Any, names: tuple[str, ...], files: tuple[str, ...]) -> Any:
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


def _sews(record: Any) -> bool:
    return all(row["verdict"] != "does not sew" for row in (*record.seams, *record.bands))


def _rendered(found: Revised) -> bytes:
    import json

    from propagate.report.revise_text import revised_plain

    return (json.dumps({"format": 1, **revised_plain(found)}, indent=1) + "\n").encode()


def _tell(found: Revised, reading: ReadingReport, out: str | None) -> None:
    from propagate.report.layout import entries, heading, sentence
    from propagate.report.revise_text import revised_lines

    say(revised_lines(found))
    lines = []
    if reading.lines:
        lines += [*heading(f"reading the {reading.format}"), *reading_lines(reading)]
    if out is None:
        lines += ["", *sentence("Nothing was written; add -o FOLDER to write the set.")]
    else:
        files = [
            (out, "the revised set, all sizes"),
            ("  revised.json", "what changed, and why"),
        ]
        lines += heading("files") + entries(files[: 2 if found.changed else 1], widest=40)
    say([*lines, "", *sentence(LIMITS)])
