"""``propagate change``: one edit, in the trade's words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

import click

from propagate.cli.edited import do_edits, out_options, size_option
from propagate.cli.options import corners_option, follow_option, json_option, say_lines

if TYPE_CHECKING:
    from propagate.engine.truing import Corners
    from propagate.pattern.amount import Grading

__all__ = ["command"]


class _WithEdits(click.Command):
    """Lists the edits in its help, each with an example; they are looked up when it is asked."""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list."""
        del ctx
        from propagate.engine.edits.kinds import EDITS

        with formatter.section("Edits"):
            formatter.write_dl([(kind.word, kind.does) for kind in EDITS.values()])
        with formatter.section("Examples, on demo sets (propagate demo NAME copies them)"):
            for kind in EDITS.values():
                home = f"propagate_demo/{kind.on}"
                formatter.write_text(f"propagate change {home} {kind.word} {kind.example}")


def _tell_about(ctx: click.Context, _param: click.Parameter, word: str | None) -> None:
    """Tell what an edit takes, and end."""
    if word is None:
        return
    from propagate.engine.edits.kinds import edit_kind
    from propagate.report.told_words import edit_lines

    say_lines(edit_lines(edit_kind(word, "the command")))
    ctx.exit(0)


@click.command("change", cls=_WithEdits)
@click.argument("path", metavar="SET")
@click.argument("word", metavar="EDIT")
@click.argument("said", metavar="KEY=VALUE...", nargs=-1)
@click.option(
    "--about",
    metavar="EDIT",
    is_eager=True,
    expose_value=False,
    callback=_tell_about,
    help="Tell what an edit takes, and stop.",
)
@size_option
@click.option(
    "--amounts",
    "graded",
    type=click.Choice(["same", "proportion"]),
    default="same",
    show_default=True,
    help="An amount holds in every size, or in proportion to the length that it changes.",
)
@follow_option
@corners_option("trued")
@out_options
@json_option
def command(
    path: str,
    word: str,
    said: tuple[str, ...],
    sizes: str | None,
    graded: Grading,
    follow: Literal["shape", "length"],
    corners: Corners,
    **rest: Any,
) -> int:
    """Do one EDIT on SET, in every size; all companions follow.

    Without -o nothing is written. Ends with 1 when something does not sew together, with 3 on
    a conflict (nothing is written). Several edits go into a file: propagate apply.
    """
    from propagate.io.edits_toml import edit_of_words

    edit = edit_of_words(word, said)
    return do_edits(
        "change",
        path,
        (edit,),
        sizes=sizes,
        graded=graded,
        follow=follow,
        corners=corners,
        **rest,
    )
