"""The command line.  Nothing heavy is imported before a command needs it."""

from __future__ import annotations

__all__ = ["main"]


def main() -> None:
    """Run the command line; ends the process with the exit status."""
    from propagate.cli.app import cli

    cli(prog_name="propagate")
