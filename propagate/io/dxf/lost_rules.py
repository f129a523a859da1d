"""Refuse a rule file that lacks rules which the drawing uses, where a piece would not be graded.

A file that was cut off on its way ends without its last line.  Drawn without the lost rules, a
piece would be the same in every size, or graded in one half.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from propagate.errors import FormatError
from propagate.io.dxf.conventions import RULE_END, RULE_NUMBER
from propagate.io.dxf.rules import RuleTable
from propagate.io.dxf.shapes import Shapes

__all__ = ["listed", "refuse_lost_rules", "used_rules"]

_TOLD = 5
_NOT_GRADED = "0"  # common practice, no source: a point that does not move


def used_rules(shapes: Shapes) -> list[str]:
    """Return the rule numbers that stand in a block, each once, in the order of the file."""
    found = (RULE_NUMBER.fullmatch(text.text) for text in shapes.texts)
    return list(dict.fromkeys(match[1].lstrip("0") or "0" for match in found if match))


def listed(numbers: Sequence[str]) -> str:
    """Return rule numbers in words: the first few, and how many more."""
    more = len(numbers) - _TOLD
    return ", ".join(numbers[:_TOLD]) + (f" and {more} more" if more > 0 else "")


def refuse_lost_rules(
    table: RuleTable, pieces: Mapping[str, Shapes], rule_file: str, drawing: str
) -> None:
    """Refuse a table without rules that its drawing uses.

    A file with its last line may lack some rules of a piece, which the reading report tells; one
    without it only such as nothing uses.

    Parameters
    ----------
    table : RuleTable
    pieces : mapping of piece name to Shapes
    rule_file, drawing : str
        The files' names.

    Raises
    ------
    FormatError
        The file is cut off and rules are gone with its end, or no rule of a piece is there.
    """
    used = {name: used_rules(shapes) for name, shapes in pieces.items()}
    lost = {
        name: [rule for rule in rules if rule not in table.rules and rule != _NOT_GRADED]
        for name, rules in used.items()
    }
    bare = [name for name, rules in lost.items() if rules and len(rules) == len(used[name])]
    every = list(dict.fromkeys(rule for rules in lost.values() for rule in rules))
    if not every or (table.ended and not bare):
        return
    count = len(dict.fromkeys(rule for rules in used.values() for rule in rules))
    of = [name for name, rules in lost.items() if rules]
    raise FormatError(
        f"{rule_file}: found {len(every)} of the {count} rules that '{drawing}' uses missing "
        f"({listed(every)}; on {_pieces(of)})"
        + ("" if table.ended else f" and no '{RULE_END}' at the end")
        + ", expected all of them"
        + (f": {_pieces(bare)} would be the same in every size" if bare else "")
        + ("; it belongs to another drawing or is damaged" if table.ended else "; it was cut off")
        + ": ask for the rule file again, together with its DXF"
    )


def _pieces(names: Sequence[str]) -> str:
    shown = ", ".join(f"'{name}'" for name in names[:_TOLD])
    more = f" and {len(names) - _TOLD} more" if len(names) > _TOLD else ""
    return f"piece{'s' if len(names) > 1 else ''} {shown}{more}"
