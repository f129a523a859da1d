"""``propagate apply``: do the edits that a file says, in order."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from propagate.cli.edited import do_edits, out_options, size_option
from propagate.cli.options import json_option

if TYPE_CHECKING:
    from propagate.engine.truing import Corners

__all__ = ["command"]

_EXAMPLES = """\b
An edit file:
  format = 1
  [[edit]]
  name = "closer waist"
  do = "take-in"
  edge = "full_front.side"
  by = "10mm"
  at = "waist"
  to = "hip"

\b
Examples:
  propagate demo ferry_shirt
  propagate apply propagate_demo/ferry_shirt \\
    propagate_demo/ferry_shirt_edits/edits.toml
  propagate apply my_set edits.toml -o my_set_2
  propagate apply my_set edits.toml --sizes 38,40 -o my_set_2"""


@click.command("apply", epilog=_EXAMPLES)
@click.argument("path", metavar="SET")
@click.argument("file", metavar="EDITS")
@size_option
@click.option(
    "--corners",
    type=click.Choice(["trued", "left"]),
    help="A line that ran on smoothly across a seam and no longer does is trued, or left.  "
    "[default: as the file says, else trued]",
)
@out_options
@json_option
def command(
    path: str,
    file: str,
    sizes: str | None,
    corners: Corners | None,
    out: str | None,
    replace: bool,
    as_json: bool,
) -> int:
    """Do the edits of the file EDITS on SET, in order; all companions follow.

    Without -o nothing is written. Ends with 1 when something does not sew together, with 3 on
    a conflict (nothing is written).
    """
    from propagate.io.edits_toml import read_edits

    said = read_edits(file)
    return do_edits(
        "apply",
        path,
        said.edits,
        sizes=said.sizes if sizes is None else sizes,
        graded=said.graded,
        follow=said.follow,
        corners=said.corners if corners is None else corners,
        out=out,
        replace=replace,
        as_json=as_json,
        files=(file,),
    )
