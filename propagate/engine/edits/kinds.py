"""The edits that can be said in words, one line for each.

To add one: its file beside this one, and a line here.  Edit files, the command line and the
reference of the documentation follow from what its class tells of its fields.
"""

from __future__ import annotations

from importlib import import_module

from propagate.engine.edits.sized import SizedEdit
from propagate.errors import UnknownName
from propagate.values import dataclass

__all__ = ["EDITS", "EditKind", "edit_kind"]


@dataclass(frozen=True)
class EditKind:
    """An edit that can be said in words.

    Attributes
    ----------
    word : str
        What it is called in edit files and on the command line.
    module, name : str
        Where its class is; it is loaded when it is asked for.
    does : str
        One line.
    example : str
        ``KEY=VALUE`` words that do it on the demo set ``slant_trouser``, or on the one named
        by `on`.
    on : str
        The demo set of the example.
    """

    word: str
    module: str
    name: str
    does: str
    example: str
    on: str = "slant_trouser"

    def load(self) -> type[SizedEdit]:
        """Return its class."""
        found: type[SizedEdit] = getattr(
            import_module(f"propagate.engine.edits.{self.module}"), self.name
        )
        return found


EDITS: dict[str, EditKind] = {
    kind.word: kind
    for kind in (
        EditKind(
            "take-in",
            "take_in",
            "TakeIn",
            "Take in an edge, all along or with a taper.",
            "edge=full_front.side by=10mm at=waist to=hip",
        ),
        EditKind(
            "let-out",
            "take_in",
            "LetOut",
            "Let out an edge, all along or with a taper.",
            "edge=back.side by=8mm at=waist to=hip both=true",
        ),
        EditKind(
            "raise",
            "raise_edge",
            "Raise",
            "Raise an edge that runs across, parallel or with a slope.",
            "edge=back.waist by=15mm at=end to=start taper=straight",
        ),
        EditKind(
            "lower",
            "raise_edge",
            "Lower",
            "Lower an edge that runs across, parallel or with a slope.",
            "edge=full_front.hem by=20mm",
        ),
        EditKind(
            "lengthen",
            "lengthen",
            "Lengthen",
            "Lengthen every piece at a level.",
            "level=knee by=20mm",
        ),
        EditKind(
            "shorten",
            "lengthen",
            "Shorten",
            "Shorten every piece at a level.",
            "level=knee by=20mm",
        ),
        EditKind(
            "true",
            "true_edge",
            "TrueEdge",
            "True an edge, so that it runs on smoothly across its seams.",
            "edge=upper_front.armhole",
            "workshop_gilet",
        ),
        EditKind(
            "allow",
            "allow",
            "Allow",
            "Change the allowance of an edge.",
            "edge=back.centre to=20mm",
        ),
        EditKind(
            "finish-corner",
            "allow",
            "FinishCorner",
            "Change how the cut line of a corner is finished.",
            "corner=back.side/waist finish=square",
        ),
        EditKind(
            "ease",
            "change_ease",
            "ChangeEase",
            "Change the ease of a seam or of a zone of a band.",
            "seam=belt_fit.right_back to=5mm",
            "scoop_skirt",
        ),
        EditKind(
            "swing-dart",
            "swing_dart",
            "SwingDart",
            "Swing a dart into another edge, as a whole or in part.",
            "dart=skirt_back.back_dart into=cb at=150mm share=50%",
            "scoop_skirt",
        ),
        EditKind(
            "divide-dart",
            "divide_dart",
            "DivideDart",
            "Divide a dart into two on its edge.",
            "dart=back.dart apart=50mm",
        ),
        EditKind(
            "move-dart",
            "move_dart",
            "MoveDart",
            "Move a dart along its edge.",
            "dart=back.dart by=15mm towards=start",
        ),
        EditKind(
            "widen-dart",
            "widen_dart",
            "WidenDart",
            "Make a dart wider, and let the side out by as much.",
            "dart=back.dart by=6mm to=hip",
        ),
        EditKind(
            "narrow-dart",
            "widen_dart",
            "NarrowDart",
            "Make a dart narrower, and take the side in by as much.",
            "dart=back.dart by=6mm to=hip",
        ),
        EditKind(
            "move-mark",
            "move_mark",
            "MoveMark",
            "Move a notch, a drill mark or an inner line.",
            "mark=front.knee_notch_side by=20mm",
        ),
        EditKind(
            "open",
            "change_opening",
            "ChangeOpening",
            "Make an opening longer or shorter, turn it, or move it along.",
            "opening=front_pocket to=175mm",
        ),
        EditKind(
            "draw-edge",
            "draw_edge",
            "DrawEdge",
            "Draw an edge anew, as a smooth curve through points.",
            "edge=full_front.waist through=35%:-4mm,70%:-5mm",
        ),
        EditKind(
            "spread",
            "spread",
            "Spread",
            "Slash and spread a piece for fullness.",
            "piece=skirt_back from=foot to=top by=60mm lines=3 at=150mm,260mm to_at=20mm,60mm",
            "scoop_skirt",
        ),
        EditKind(
            "widen",
            "spread",
            "Widen",
            "Widen a piece along lines, as much at both ends.",
            "piece=skirt_back from=foot to=top by=24mm at=150mm to_at=60mm",
            "scoop_skirt",
        ),
    )
}
"""By their word."""


def edit_kind(word: str, where: str) -> EditKind:
    """Return the edit of a word; raises UnknownName with the nearest words."""
    if word not in EDITS:
        raise UnknownName("edit", word, list(EDITS), where)
    return EDITS[word]
