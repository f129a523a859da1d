"""``propagate blend``: blend sizes by level, and write the result."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import click

from propagate.cli.app import LIMITS
from propagate.cli.options import (
    corners_option,
    json_option,
    next_lines,
    read_hold,
    read_pairs,
    read_rise,
    read_side,
    say_any_lines,
    say_json,
    say_lines,
    unit_option,
    was_typed,
)
from propagate.cli.reading import load_set, tell_kept

if TYPE_CHECKING:
    from propagate.engine.job import Edit
    from propagate.engine.truing import Corners

__all__ = ["command"]

_EXAMPLES = """\b
Examples:
  propagate blend my_set --size waist=42 --size hip=48 -o my_result
  propagate blend my_set --size waist=43.5 --size hip=45 -o my_result
  propagate blend my_set --body waist=770mm,hip=1040mm -o my_result"""


@click.command("blend", epilog=_EXAMPLES)
@click.argument("path", metavar="SET")
@click.option(
    "--size",
    "sizes",
    metavar="LEVEL=SIZE",
    multiple=True,
    help="Size for a level; once for each level. Between two sizes: 43.5, or S+0.4.",
)
@click.option(
    "--body",
    metavar="NAME=LENGTH,...",
    multiple=True,
    help="Body measurements instead: by the chart, between two sizes where they lie between.",
)
@click.option(
    "--nearest", is_flag=True, help="With --body: the nearest size that was drawn for each."
)
@click.option("-o", "--out", metavar="FOLDER", help="Where to write the result.")
@click.option(
    "--follow",
    type=click.Choice(["shape", "length"]),
    default="shape",
    show_default=True,
    help="The other side of the seam takes the new shape, or keeps its own.",
)
@click.option(
    "--top",
    type=click.Choice(["trued", "traced"]),
    default="trued",
    show_default=True,
    help="The top edge runs smoothly across the side seam, or stays as drawn.",
)
@click.option(
    "--rise",
    default="upper",
    show_default=True,
    metavar="upper|lower|LENGTH",
    help="Height of the top: that of the upper or the lower level's size (a level's name does "
    "too), or a length.",
)
@click.option(
    "--pocket",
    default="upper",
    show_default=True,
    metavar="upper|lower",
    help="Whose size the pocket has; a level's name does too.",
)
@click.option(
    "--hold",
    metavar="LEVEL|LENGTH",
    help="Level beyond which nothing changes, or a length below the lower level.",
)
@corners_option("trued")
@click.option("--replace", is_flag=True, help="Take the place of a result that stands there.")
@unit_option
@json_option
def command(
    path: str,
    sizes: tuple[str, ...],
    body: tuple[str, ...],
    nearest: bool,
    out: str | None,
    follow: Literal["shape", "length"],
    top: Literal["trued", "traced"],
    rise: str,
    pocket: str,
    hold: str | None,
    corners: Corners,
    replace: bool,
    unit: str,
    as_json: bool,
) -> int:
    """Blend sizes of SET by level: the top of one, the rest of another.

    Every piece that is sewn to what changed follows. Without -o nothing is written.
    Ends with exit status 1 when something does not sew together (the result is written
    all the same, to be looked at), with 3 on a conflict (nothing is written).
    """
    from propagate.engine.edits.blend import Blend
    from propagate.engine.edits.level_blend import BlendLevels
    from propagate.engine.review.run import review
    from propagate.engine.run import run
    from propagate.io.output import read_from
    from propagate.io.result_folder import save
    from propagate.pattern.chart import sizes_from_body
    from propagate.report.blend_text import blend_lines, blend_plain, body_lines
    from propagate.report.layout import lay_entries, lay_heading, wrap_sentence
    from propagate.report.review_text import review_short_lines
    from propagate.report.units import unit_of

    given = read_pairs(sizes, "--size", "LEVEL=SIZE, such as waist=42")
    measured = read_pairs(body, "--body", "NAME=LENGTH, such as waist=770mm")
    pattern = load_set(path)
    if nearest and not measured:
        raise click.UsageError("--nearest goes with --body")
    chosen = sizes_from_body(pattern, measured, nearest=nearest) if measured else None
    for level in chosen.sizes if chosen else ():
        if level in given:
            raise click.UsageError(
                f"level '{level}' was given by --size and by --body; give one of them"
            )
    wanted = {**(chosen.sizes if chosen else {}), **given}
    edit: Edit
    if pattern.relations.blend is None:
        for name in ("top", "rise", "pocket", "hold"):
            if was_typed(name):
                raise click.UsageError(
                    f"--{name} needs the [blend] section of a set, which says what its top is; "
                    "this set has none and is blended by level alone"
                )
        edit = BlendLevels(wanted, follow=follow if was_typed("follow") else "length")
    else:
        edit = Blend(
            sizes=wanted,
            follow=follow,
            top=top,
            rise=read_rise(pattern, rise),
            pocket=read_side(pattern, pocket, "--pocket"),
            hold=read_hold(pattern, hold),
        )
    result = run(pattern, edit, corners=corners)
    if out is not None:
        tell_kept(save(result, out, replace=replace, sources=[read_from(path)]))
    findings = review(pattern)
    if as_json:
        plain = blend_plain(result, chosen, out)
        say_json({"command": "blend", **plain, "review": list(findings)})
    else:
        say_any_lines(review_short_lines(findings, pattern, path))
        if chosen is not None:
            say_lines(body_lines(chosen, unit_of(unit)))
        say_lines(blend_lines(result, unit_of(unit)))
        if out is None:
            lines = ["", *wrap_sentence("Nothing was written; add -o FOLDER to write the result.")]
        else:
            files = [
                (out, "the new size as a set: set.toml and geometry"),
                ("  record.json", "what changed, by how much, and why"),
                ("  cut_lines.json", "the cut line of every piece"),
            ]
            reached = (one.piece for one in reversed(result.record.pieces) if one.status != "same")
            lines = lay_heading("files") + lay_entries(files, widest=40, whole=True)
            lines += next_lines(out, next(reached, None))
        say_lines([*lines, "", *wrap_sentence(LIMITS)])
    return 0 if result.sews else 1
