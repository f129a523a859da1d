"""The one exception family of the project.

Every error says where (set, piece, size, edge), what was found, what was
expected and what to do.  Each class knows the exit status that the command line
ends with.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

__all__ = [
    "Conflict",
    "EditError",
    "FormatError",
    "InvalidSet",
    "ManyProblems",
    "OutputError",
    "PartsApart",
    "PropagateError",
    "UnknownName",
    "nearest_names",
]

MOST_TOLD = 12
"""Problems that a message tells one by one."""


class PropagateError(Exception):
    """Base of every error that the project raises on purpose."""

    exit_status: int = 2

    def lines(self) -> list[str]:
        """Return the message line by line; lines after the first are indented."""
        first, *more = str(self).split("\n")
        return [first, *(line if line[:2] == "  " else f"  {line}" for line in more)]


class ManyProblems(PropagateError, ValueError):
    """Several problems, found together.

    The message tells the first dozen of them and how many more there are.

    Attributes
    ----------
    problems : tuple of str
        All of them, one clear line each.
    """

    def __init__(self, head: str, problems: Sequence[str]) -> None:
        self.head, self.problems = head, tuple(problems)
        super().__init__("\n".join(self.lines()))

    def lines(self) -> list[str]:
        """Return the head, and a line for each problem that is told."""
        told = [f"  - {line}" for line in self.problems[:MOST_TOLD]]
        left = len(self.problems) - len(told)
        return [self.head, *told, *([f"  ... and {left} more"] if left else [])]


class FormatError(PropagateError, ValueError):
    """A file that cannot be read: broken syntax, a newer format, a wrong type."""


class InvalidSet(ManyProblems):
    """A set that breaks rules of the model; carries every problem found.

    Attributes
    ----------
    problems : tuple of str
        One clear line each, in the order of pieces, sizes and edges.
    """

    def __init__(self, set_name: str, problems: Sequence[str]) -> None:
        self.set_name = set_name
        super().__init__(f"set '{set_name}' cannot be used, {len(problems)} problem(s):", problems)


class PartsApart(InvalidSet):
    """Parts of an assembly that do not meet the landmarks of its lead.

    Attributes
    ----------
    found : str
        What was found and expected, without what to do about it.
    """

    def __init__(self, set_name: str, found: str, cure: str) -> None:
        self.found = found
        super().__init__(set_name, [f"{found}; {cure}"])


class UnknownName(PropagateError, KeyError):
    """A size, piece, edge, landmark or level that the set does not have."""

    def __init__(self, what: str, name: str, known: Sequence[str], where: str = "") -> None:
        self.what, self.name, self.known = what, name, tuple(known)
        place = f" in {where}" if where else ""
        near = nearest_names(name, known)
        cure = f"did you mean {near}?" if near else f"known: {', '.join(known) or 'none'}"
        self.message = f"no {what} '{name}'{place}; {cure}"
        super().__init__(self.message)

    def __str__(self) -> str:
        # KeyError would print the repr of its argument.
        return self.message


class EditError(PropagateError, ValueError):
    """An edit that asks for something the set cannot do."""


class Conflict(PropagateError):
    """Two relations, or a relation and a fixed piece, ask different things.

    Attributes
    ----------
    causes : tuple of str
        What each side asks for and why.
    distance_mm : float
        The millimetres between the two.
    """

    exit_status = 3

    def __init__(self, message: str, *, causes: Sequence[str], distance_mm: float) -> None:
        self.causes = tuple(causes)
        self.distance_mm = float(distance_mm)
        super().__init__(message)


class OutputError(PropagateError, OSError):
    """A target that cannot be written, or that exists and was not to be replaced."""


def nearest_names(name: str, known: Sequence[str], count: int = 3) -> str:
    """Return up to `count` names like `name`, quoted and joined for a message.

    Of numbers the ones on either side of it: as words 43 is as like 48 as 42.  A word of which
    only half the letters are in another one is not like it: `side` and `shoulder`.
    """
    if all(text.replace(".", "", 1).isdecimal() for text in (name, *known)):
        numbers = sorted(known, key=float)
        after = bisect_left(numbers, float(name), key=float)
        same = float(numbers[after]) == float(name) if after < len(numbers) else False
        around = numbers[after : after + 1] if same else numbers[max(after - 1, 0) : after + 1]
        return " or ".join(f"'{text}'" for text in around)
    from difflib import get_close_matches  # only who made a mistake waits for it

    return ", ".join(f"'{n}'" for n in get_close_matches(name, list(known), n=count, cutoff=0.51))
