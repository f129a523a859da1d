# ruff: noqa: ARG002 - click names these arguments.
"""A group of commands that are imported only when they run, with one way of ending.

Exit status: 0 fine, 1 something does not sew together, 2 unusable input or usage,
3 conflict (nothing written), 70 a fault of the program, 130 interrupted, 141 the reader
of the output went away.
"""

from __future__ import annotations

import contextlib
import errno
import io
import os
import sys
from collections.abc import Mapping, Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any, NoReturn

import click

from propagate.cli.output import ReaderGone, let_go_of_stdout, open_streams, say_json, say_warning
from propagate.errors import (
    Conflict,
    EditError,
    InvalidSet,
    ManyProblems,
    OutputError,
    PropagateError,
    UnknownName,
    nearest_names,
)

if TYPE_CHECKING:
    pass

__all__ = ["FAULT", "INTERRUPTED", "JSON_KEY", "SET_KEY", "LazyGroup"]

INTERRUPTED = 130
BROKEN_PIPE = 141
FAULT = 70
UNUSABLE = 2
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT)
_OF_A_FILE = (
    errno.EACCES,
    errno.EPERM,
    errno.EROFS,
    errno.ENAMETOOLONG,
    errno.ELOOP,
    errno.ENOTDIR,
    errno.EISDIR,
)
"""What the system says of a name that somebody gave; no fault of the program."""
SET_KEY = "propagate.set"
"""In the context: the set that a command works on."""
_CAUSES = 3
"""So many likely causes are told of an edit that is refused."""
JSON_KEY = "propagate.json"
"""Set in the context by a command that was asked for JSON."""


class LazyGroup(click.Group):
    """Commands by name, each with its module and the line that the help shows.

    Parameters
    ----------
    commands_at : mapping of command name to (module, short help)
        The module holds the command under the name ``command``.
    """

    def __init__(self, *args: Any, commands_at: Mapping[str, tuple[str, str]], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.commands_at = dict(commands_at)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of a first use."""
        return list(self.commands_at)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command."""
        if cmd_name not in self.commands_at:
            return None
        found: click.Command = import_module(self.commands_at[cmd_name][0]).command
        return found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Name the nearest commands when there is none of that name."""
        if args[0] not in self.commands_at and not args[0].startswith("-"):
            near = nearest_names(args[0], list(self.commands_at))
            cure = f"did you mean {near}?" if near else f"known: {', '.join(self.commands_at)}"
            raise click.UsageError(f"no command '{args[0]}'; {cure}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in self.commands_at.items()])

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; with ``--json``, an error is told as JSON too."""
        try:
            return super().invoke(ctx)
        except PropagateError as error:
            pattern = ctx.meta.get(SET_KEY)
            if pattern is not None and isinstance(error, EditError | Conflict | InvalidSet):
                # What looks like the cause in the set: a mistake that will not sew.
                from propagate.engine.review.run import review

                with contextlib.suppress(PropagateError):
                    wrong = [finding for finding in review(pattern) if not finding.sews]
                    for finding in wrong[:_CAUSES]:
                        error.add_note(f"  likely cause: {finding.where}: {finding.text}")
            _say_as_json(ctx, error)
            raise
        except BrokenPipeError as error:
            raise ReaderGone from error  # click itself would end with 1 here
        except OSError as error:
            if error.errno not in _OF_A_FILE or error.filename is None:
                raise
            told = OutputError(
                f"'{error.filename}' cannot be read or written ({error.strerror}); give another "
                "name, or allow it"
            )
            _say_as_json(ctx, told)
            raise told from error

    def make_context(self, *args: Any, **kwargs: Any) -> click.Context:
        """Read the options of the group; ``--help`` is printed here already."""
        try:
            return super().make_context(*args, **kwargs)
        except BrokenPipeError as error:
            raise ReaderGone from error

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,
    ) -> Any:
        """Run and end with the right exit status and no traceback."""
        call = (args, prog_name, complete_var)
        open_streams()
        if not standalone_mode:
            return super().main(
                *call, standalone_mode=False, windows_expand_args=windows_expand_args, **extra
            )
        try:
            status = super().main(
                *call, standalone_mode=False, windows_expand_args=windows_expand_args, **extra
            )
            sys.stdout.flush()
        except click.exceptions.Abort:
            _end_with(INTERRUPTED, "interrupted; what was being written was taken away again")
        except KeyboardInterrupt:
            _end_with(INTERRUPTED, "interrupted")
        except click.ClickException as error:
            # The words of click, in which arguments and file names are quoted as they came.
            words = io.StringIO()
            if isinstance(error, click.UsageError) and error.ctx is not None:
                error.ctx.color = True  # else click leaves out what it takes for colours
            error.show(words)
            say_warning(*words.getvalue().rstrip("\n").split("\n"))
            sys.exit(error.exit_code)
        except PropagateError as error:
            lines = error.lines()
            if isinstance(error, Conflict):
                causes = (f"  - {cause}" for cause in error.causes)
                lines = [f"conflict: {error}", *causes, "  nothing was written"]
            _end_with(error.exit_status, *lines, *getattr(error, "__notes__", ()))
        except (ReaderGone, BrokenPipeError):
            let_go_of_stdout()
            sys.exit(BROKEN_PIPE)
        except Exception as error:
            if os.environ.get("PROPAGATE_TRACEBACK"):
                raise
            if isinstance(error, OSError) and error.errno in _NO_ROOM:
                let_go_of_stdout()
                _end_with(UNUSABLE, f"the output cannot be written ({error.strerror}); make room")
            _end_with(
                FAULT,
                f"fault of the program ({type(error).__name__}: {error}); nothing is wrong with "
                "your input that it knows of; set PROPAGATE_TRACEBACK=1 to see where",
            )
        sys.exit(status if isinstance(status, int) else 0)


def _say_as_json(ctx: click.Context, error: PropagateError) -> None:
    """Say an error as plain JSON, where that is asked for."""
    if not ctx.meta.get(JSON_KEY):
        return
    words: dict[str, Any] = {
        "status": "conflict" if isinstance(error, Conflict) else "error",
        "exit_status": error.exit_status,
        "error": type(error).__name__,
        "message": str(error),
    }
    if isinstance(error, Conflict):
        words["causes"], words["distance_mm"] = list(error.causes), error.distance_mm
    if isinstance(error, ManyProblems):
        words["problems"] = list(error.problems)
    if isinstance(error, UnknownName):
        words["known"] = list(error.known)
    if hasattr(error, "__notes__"):
        words["likely_causes"] = [note.strip() for note in error.__notes__]
    say_json(words)


def _end_with(status: int, message: str, *more: str) -> NoReturn:
    say_warning(f"propagate: {message}", *more)
    sys.exit(status)
