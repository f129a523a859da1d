"""The command line.  Nothing heavy is imported before a command needs it."""

from __future__ import annotations

import gc

__all__ = ["main"]

OBJECTS_BETWEEN_COLLECTIONS = 500_000


def main() -> None:
    """Run the command line; ends the process with the exit status."""
    # A command lives for half a second and lets go of next to nothing: looking for garbage while
    # modules and sets are loaded would be a twentieth of its time.
    gc.set_threshold(OBJECTS_BETWEEN_COLLECTIONS)
    try:
        from propagate.cli.app import cli
    except KeyboardInterrupt:  # nothing has begun yet, and nobody else is there to say so
        import sys

        sys.stderr.write("\npropagate: interrupted\n")
        raise SystemExit(130) from None
    cli(prog_name="propagate")
