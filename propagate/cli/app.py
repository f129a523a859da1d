"""``propagate``: the group and its table of commands."""

from __future__ import annotations

import click

from propagate.cli.group import LazyGroup

__all__ = ["COMMANDS", "LIMITS", "cli"]

LIMITS = (
    "The tool matches lengths and lines; it does not judge fit: "
    "sew a trial garment before cutting good cloth."
)

COMMANDS = {
    "demo": ("propagate.cli.demo", "Copy a demo set, run its main job, draw the pictures."),
    "show": ("propagate.cli.show", "Tell what a set holds and how its pieces are joined."),
    "walk": ("propagate.cli.walk", "Walk every seam: does it all sew together?"),
    "suggest": ("propagate.cli.suggest", "Propose which edges are sewn to which."),
    "blend": ("propagate.cli.blend", "Blend sizes by level; every companion piece follows."),
    "revise": ("propagate.cli.revise", "Receive a revised piece; all sizes and companions follow."),
    "change": ("propagate.cli.change", "Do one edit, such as take-in; all companions follow."),
    "apply": ("propagate.cli.apply", "Do the edits of a file, in order."),
    "why": ("propagate.cli.why", "Tell why a piece of a result changed."),
    "report": ("propagate.cli.report", "Write a page that shows it all in a browser."),
    "draw": ("propagate.cli.draw", "Draw the pieces as SVG at true scale."),
    "print": ("propagate.cli.print", "Print the pieces at true scale as PDF, to cut from."),
    "sheet": ("propagate.cli.sheet", "Write the work sheet for changing pieces by hand."),
    "begin": ("propagate.cli.begin", "Make a set from bare geometry: SVG, PDF, DXF, JSON."),
    "convert": ("propagate.cli.convert", "Write a style in another form: set, SVG, DXF, JSON."),
}
"""Command to (module, line in the help); to add one, add a line here and its file."""


@click.group(
    cls=LazyGroup,
    commands_at=COMMANDS,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    epilog=LIMITS,
)
@click.version_option(package_name="propagate", message="%(prog)s %(version)s")
def cli() -> None:
    """Carry a change on one pattern piece to every piece that is sewn to it.

    A set is a folder with set.toml and a geometry folder. Exit status: 0 fine, 1
    something does not sew together, 2 unusable input or usage, 3 conflict (nothing
    written).
    """
