"""Carry a change on one sewing pattern piece to every piece that is sewn to it.

The library in a few names.  Nothing is imported before it is used, so that
``import propagate`` costs nothing.

Examples
--------
>>> import propagate
>>> trousers = propagate.load(propagate.demo_path("slant_trouser"))
>>> result = propagate.blend(trousers, propagate.Blend({"waist": "42", "hip": "44"}))
>>> result.sews
True
>>> propagate.draw(result, "front").startswith("<svg")
True
"""

from __future__ import annotations

from importlib import import_module

TYPE_CHECKING = False  # as in `typing`, which would cost most of the import

if TYPE_CHECKING:
    from propagate.api import begin, print_pieces, read_pieces, write_piece, write_sheet
    from propagate.demo import demo_names, demo_path
    from propagate.engine.applying import NamedEdit, apply_edits
    from propagate.engine.edits.allow import Allow, FinishCorner
    from propagate.engine.edits.blend import Blend
    from propagate.engine.edits.change_ease import ChangeEase
    from propagate.engine.edits.change_opening import ChangeOpening
    from propagate.engine.edits.divide_dart import DivideDart
    from propagate.engine.edits.draw_edge import DrawEdge
    from propagate.engine.edits.lengthen import Lengthen, Shorten
    from propagate.engine.edits.level_blend import BlendLevels
    from propagate.engine.edits.move_dart import MoveDart
    from propagate.engine.edits.move_mark import MoveMark
    from propagate.engine.edits.raise_edge import Lower, Raise
    from propagate.engine.edits.size_between import with_between_size
    from propagate.engine.edits.spread import Spread, Widen
    from propagate.engine.edits.swing_dart import SwingDart
    from propagate.engine.edits.take_in import LetOut, TakeIn
    from propagate.engine.edits.true_edge import TrueEdge
    from propagate.engine.edits.widen_dart import NarrowDart, WidenDart
    from propagate.engine.finish import CutLine, cut_line
    from propagate.engine.record import Record
    from propagate.engine.result import Result
    from propagate.engine.review.finding import Finding
    from propagate.engine.review.run import review
    from propagate.engine.revise import revise
    from propagate.engine.revised import Revised
    from propagate.engine.run import blend, run
    from propagate.engine.walk import Walk, walk
    from propagate.errors import (
        Conflict,
        EditError,
        FormatError,
        InvalidSet,
        OutputError,
        PropagateError,
        UnknownName,
    )
    from propagate.io.edits_toml import EditFile, read_edits
    from propagate.io.folder import load
    from propagate.io.result_folder import load_result, save
    from propagate.pattern.amount import Amount
    from propagate.pattern.chart import ChosenSizes, sizes_from_body
    from propagate.pattern.model import Edge, Piece, SizedPiece
    from propagate.pattern.patternset import PatternSet
    from propagate.report.draw import draw
    from propagate.suggesting import Suggestions, accepted, suggest

__all__ = [
    "Allow",
    "Amount",
    "Blend",
    "BlendLevels",
    "ChangeEase",
    "ChangeOpening",
    "ChosenSizes",
    "Conflict",
    "CutLine",
    "DivideDart",
    "DrawEdge",
    "Edge",
    "EditError",
    "EditFile",
    "Finding",
    "FinishCorner",
    "FormatError",
    "InvalidSet",
    "Lengthen",
    "LetOut",
    "Lower",
    "MoveDart",
    "MoveMark",
    "NamedEdit",
    "NarrowDart",
    "OutputError",
    "PatternSet",
    "Piece",
    "PropagateError",
    "Raise",
    "Record",
    "Result",
    "Revised",
    "Shorten",
    "SizedPiece",
    "Spread",
    "Suggestions",
    "SwingDart",
    "TakeIn",
    "TrueEdge",
    "UnknownName",
    "Walk",
    "Widen",
    "WidenDart",
    "accepted",
    "apply_edits",
    "begin",
    "blend",
    "cut_line",
    "demo_names",
    "demo_path",
    "draw",
    "load",
    "load_result",
    "print_pieces",
    "read_edits",
    "read_pieces",
    "review",
    "revise",
    "run",
    "save",
    "sizes_from_body",
    "suggest",
    "walk",
    "with_between_size",
    "write_piece",
    "write_sheet",
]

_HOMES = {
    "Allow": "propagate.engine.edits.allow",
    "Amount": "propagate.pattern.amount",
    "Blend": "propagate.engine.edits.blend",
    "BlendLevels": "propagate.engine.edits.level_blend",
    "ChangeEase": "propagate.engine.edits.change_ease",
    "ChangeOpening": "propagate.engine.edits.change_opening",
    "ChosenSizes": "propagate.pattern.chart",
    "CutLine": "propagate.engine.finish",
    "DivideDart": "propagate.engine.edits.divide_dart",
    "DrawEdge": "propagate.engine.edits.draw_edge",
    "Edge": "propagate.pattern.model",
    "EditFile": "propagate.io.edits_toml",
    "Finding": "propagate.engine.review.finding",
    "FinishCorner": "propagate.engine.edits.allow",
    "Lengthen": "propagate.engine.edits.lengthen",
    "LetOut": "propagate.engine.edits.take_in",
    "Lower": "propagate.engine.edits.raise_edge",
    "MoveDart": "propagate.engine.edits.move_dart",
    "MoveMark": "propagate.engine.edits.move_mark",
    "NamedEdit": "propagate.engine.applying",
    "NarrowDart": "propagate.engine.edits.widen_dart",
    "PatternSet": "propagate.pattern.patternset",
    "Piece": "propagate.pattern.model",
    "Raise": "propagate.engine.edits.raise_edge",
    "Record": "propagate.engine.record",
    "Result": "propagate.engine.result",
    "Revised": "propagate.engine.revised",
    "Shorten": "propagate.engine.edits.lengthen",
    "SizedPiece": "propagate.pattern.model",
    "Spread": "propagate.engine.edits.spread",
    "Suggestions": "propagate.suggesting",
    "SwingDart": "propagate.engine.edits.swing_dart",
    "TakeIn": "propagate.engine.edits.take_in",
    "TrueEdge": "propagate.engine.edits.true_edge",
    "Walk": "propagate.engine.walk",
    "Widen": "propagate.engine.edits.spread",
    "WidenDart": "propagate.engine.edits.widen_dart",
    "accepted": "propagate.suggesting",
    "apply_edits": "propagate.engine.applying",
    "begin": "propagate.api",
    "blend": "propagate.engine.run",
    "cut_line": "propagate.engine.finish",
    "demo_names": "propagate.demo",
    "demo_path": "propagate.demo",
    "draw": "propagate.report.draw",
    "load": "propagate.io.folder",
    "load_result": "propagate.io.result_folder",
    "print_pieces": "propagate.api",
    "read_edits": "propagate.io.edits_toml",
    "read_pieces": "propagate.api",
    "review": "propagate.engine.review.run",
    "revise": "propagate.engine.revise",
    "run": "propagate.engine.run",
    "save": "propagate.io.result_folder",
    "sizes_from_body": "propagate.pattern.chart",
    "suggest": "propagate.suggesting",
    "walk": "propagate.engine.walk",
    "with_between_size": "propagate.engine.edits.size_between",
    "write_piece": "propagate.api",
    "write_sheet": "propagate.api",
}
"""Where each name lives; every other public name is an error."""


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module 'propagate' has no attribute {name!r}")
    value: object = getattr(import_module(_HOMES.get(name, "propagate.errors")), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
