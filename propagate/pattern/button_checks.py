"""What can be wrong with what a set says of rows of buttons."""

from __future__ import annotations

from propagate.pattern.buttons import Buttons, marks_called
from propagate.pattern.names import Names

__all__ = ["check_buttons"]


def check_buttons(names: Names) -> None:
    """Check that each side is one span, has a name of its marks, and a mark in every size."""
    for buttons in names.pattern.relations.buttons.values():
        where = f"buttons '{buttons.name}'"
        if not buttons.sides or len(buttons.sides) != len(buttons.marks):
            names.add(
                where,
                f"found {len(buttons.sides)} sides and {len(buttons.marks)} names of marks, "
                "expected one name for each side, and a side at least",
            )
        if buttons.spacing <= 0.0:
            names.add(where, "found a spacing of 0, expected how far apart they lie at most")
        for run in buttons.sides:
            names.run(f"{where}, sides", run)
            if len(run) != 1:
                names.add(
                    f"{where}, sides",
                    f"found {' + '.join(map(str, run)) or 'nothing'}, expected one span",
                )
        _check_marks(names, where, buttons)


def _check_marks(names: Names, where: str, buttons: Buttons) -> None:
    for run, name in zip(buttons.sides, buttons.marks, strict=False):
        piece = names.pattern.pieces.get(run[0].piece) if run else None
        for size, sized in piece.nest.items() if piece is not None else ():
            if not marks_called(sized, name):
                names.add(
                    f"{where}, marks",
                    f"found no drill mark and no inner line '{name}_1' on '{run[0].piece}' in size "
                    f"'{size}', expected one or more",
                )
