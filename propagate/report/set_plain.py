"""What a set holds, as plain values; lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from propagate.engine.review.taken import free_spans
from propagate.pattern.ease import EaseSaid, ease_words, plain_amount
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.welts import part_span
from propagate.report.told_words import told_plainly

__all__ = ["set_plain"]


def set_plain(pattern: PatternSet) -> dict[str, Any]:
    """Describe a set as plain values."""
    relations, plan = pattern.relations, pattern.relations.blend
    leg = None if plan is None or plan.leg is None else plan.leg.level
    plain: dict[str, Any] = {
        "set": pattern.name,
        "sizes": list(pattern.sizes),
        "base": pattern.base,
        "lay_on": pattern.lay_on,
        "pieces": [
            {
                "piece": name,
                **_pick_fields(pattern.info[name], "title", "cut", "pair", "fold", "fabric"),
                "edges": list(piece.at(pattern.base).edge_names),
            }
            for name, piece in pattern.pieces.items()
        ],
        "assemblies": [
            {**_pick_fields(one, "name", "lead"), "parts": [part.piece for part in one.parts]}
            for one in relations.assemblies.values()
        ],
        "seams": [
            {
                "name": one.name,
                "lead": _write_run(one.lead),
                "follow": _write_run(one.follow),
                "mirror": one.mirror,
                **_write_ease(one.ease),
                "tolerance_mm": one.tolerance,
                **_pick_fields(one, "hold", "fixed", "check"),
                "notches": [list(pair) for pair in one.notches],
            }
            for one in relations.seams.values()
        ],
        "openings": [
            _pick_fields(one, "name", "piece", "edge", "silhouette")
            for one in relations.openings.values()
        ],
        "stacks": [
            {**_pick_fields(one, "name", "opening"), "layers": [row.piece for row in one.layers]}
            for one in relations.stacks.values()
        ],
        "bands": [
            {
                **_pick_fields(one, "name", "piece", "sewn"),
                "zones": [
                    {"name": zone.name, "run": _write_run(zone.run), **_write_ease(zone.ease)}
                    for zone in one.zones
                ],
            }
            for one in relations.bands.values()
        ],
        "places": [_pick_fields(one, "piece", "level") for one in relations.places.values()],
        "girths": [_pick_fields(one, "name", "chart") for one in relations.girths.values()],
        "seam_openings": [
            {"name": one.name, "sides": list(map(_write_run, one.sides))}
            for one in relations.seam_openings.values()
        ],
        "derived": [_pick_fields(one, "piece", "of") for one in relations.derived.values()],
        "welt_openings": [
            {
                **_pick_fields(one, "name", "on", "line"),
                "from": list(one.anchors),
                "parts": [
                    {"piece": part.piece, "sewn": str(part_span(part)), "beyond": part.beyond}
                    for part in one.parts
                ],
            }
            for one in relations.welt_openings.values()
        ],
        "buttons": [
            {
                "name": one.name,
                "sides": list(map(_write_run, one.sides)),
                "marks": list(one.marks),
                **_pick_fields(one, "start", "end", "spacing"),
            }
            for one in relations.buttons.values()
        ],
        "pleats": [
            {
                "name": one.name,
                "run": _write_run(one.run),
                "pleats": {row.name: list(row.marks) for row in one.pleats},
                **_pick_fields(one, "fold", "depth", "keep"),
            }
            for one in relations.pleats.values()
        ],
        "tapes": [
            {
                "name": one.name,
                "run": _write_run(one.run),
                "ease": ease_words(one.ease, _say_mm),
                **_pick_fields(one, "ends", "times"),
            }
            for one in relations.tapes.values()
        ],
        "sewn_to_nothing": {name: _write_run(spans) for name, spans in free_spans(pattern).items()},
        "chart": {row: dict(values) for row, values in pattern.chart.items()},
        "blend": None if plan is None else {**_pick_fields(plan, "upper", "lower"), "leg": leg},
    }
    for key, kind in KINDS.items():
        others = relations_of(relations, key).values()  # of kinds that have no words of their own
        plain.setdefault(kind.kept or key, list(map(told_plainly, others)))
    return plain


def _pick_fields(one: object, *names: str) -> dict[str, Any]:
    return {name: getattr(one, name) for name in names}


def _write_ease(ease: EaseSaid) -> dict[str, Any]:
    """Return an amount in mm; an ease of another form in words beside it."""
    amount = plain_amount(ease)
    words = {} if amount is not None else {"ease": ease_words(ease, _say_mm)}
    return {"ease_mm": amount, **words}


def _write_run(run: Sequence[object]) -> list[str]:
    return list(map(str, run))


def _say_mm(mm: float) -> str:
    return f"{mm:g} mm"
