"""What a set holds, as plain values; lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from propagate.engine.review.taken import free_spans
from propagate.pattern.ease import EaseSaid, ease_words, plain_amount
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam
from propagate.pattern.welts import WeltOpening, part_span
from propagate.report.relation_words import told_plainly

__all__ = ["set_plain"]


def set_plain(pattern: PatternSet) -> dict[str, Any]:
    """Describe a set as plain values."""
    plain = _held_plain(pattern)
    for key, kind in KINDS.items():
        word = kind.kept or key
        if word not in plain:  # a kind that has no words of its own
            plain[word] = [
                told_plainly(one) for one in relations_of(pattern.relations, key).values()
            ]
    return plain


def _held_plain(pattern: PatternSet) -> dict[str, Any]:
    relations = pattern.relations
    plan = relations.blend
    return {
        "set": pattern.name,
        "sizes": list(pattern.sizes),
        "base": pattern.base,
        "lay_on": pattern.lay_on,
        "pieces": [_piece_plain(pattern, name) for name in pattern.pieces],
        "assemblies": [
            {"name": a.name, "lead": a.lead, "parts": [part.piece for part in a.parts]}
            for a in relations.assemblies.values()
        ],
        "seams": [_seam_plain(seam) for seam in relations.seams.values()],
        "openings": [
            {"name": o.name, "piece": o.piece, "edge": o.edge, "silhouette": o.silhouette}
            for o in relations.openings.values()
        ],
        "stacks": [
            {"name": s.name, "opening": s.opening, "layers": [layer.piece for layer in s.layers]}
            for s in relations.stacks.values()
        ],
        "bands": [
            {
                "name": b.name,
                "piece": b.piece,
                "sewn": b.sewn,
                "zones": [
                    {"name": z.name, "run": _run_plain(z.run), **_ease_plain(z.ease)}
                    for z in b.zones
                ],
            }
            for b in relations.bands.values()
        ],
        "places": [{"piece": p.piece, "level": p.level} for p in relations.places.values()],
        "girths": [{"name": g.name, "chart": g.chart} for g in relations.girths.values()],
        "seam_openings": [
            {"name": one.name, "sides": [_run_plain(run) for run in one.sides]}
            for one in relations.seam_openings.values()
        ],
        "derived": [{"piece": one.piece, "of": one.of} for one in relations.derived.values()],
        "welt_openings": [_welt_plain(one) for one in relations.welt_openings.values()],
        "buttons": [
            {
                "name": one.name,
                "sides": [_run_plain(run) for run in one.sides],
                "marks": list(one.marks),
                "start": one.start,
                "end": one.end,
                "spacing": one.spacing,
            }
            for one in relations.buttons.values()
        ],
        "pleats": [
            {
                "name": one.name,
                "run": _run_plain(one.run),
                "pleats": {row.name: list(row.marks) for row in one.pleats},
                "fold": one.fold,
                "depth": one.depth,
                "keep": one.keep,
            }
            for one in relations.pleats.values()
        ],
        "tapes": [
            {
                "name": one.name,
                "run": _run_plain(one.run),
                "ease": ease_words(one.ease, _said_mm),
                "ends": one.ends,
                "times": one.times,
            }
            for one in relations.tapes.values()
        ],
        "sewn_to_nothing": {name: _run_plain(spans) for name, spans in free_spans(pattern).items()},
        "chart": {row: dict(values) for row, values in pattern.chart.items()},
        "blend": None
        if plan is None
        else {
            "upper": plan.upper,
            "lower": plan.lower,
            "leg": plan.leg.level if plan.leg else None,
        },
    }


def _ease_plain(ease: EaseSaid) -> dict[str, Any]:
    """An amount in mm; an ease of another form in words beside it."""
    amount = plain_amount(ease)
    words = {} if amount is not None else {"ease": ease_words(ease, _said_mm)}
    return {"ease_mm": amount, **words}


def _run_plain(run: Sequence[object]) -> list[str]:
    return [str(span) for span in run]


def _piece_plain(pattern: PatternSet, name: str) -> dict[str, Any]:
    info = pattern.info[name]
    return {
        "piece": name,
        "title": info.title,
        "cut": info.cut,
        "pair": info.pair,
        "fold": info.fold,
        "fabric": info.fabric,
        "edges": list(pattern.pieces[name].at(pattern.base).edge_names),
    }


def _seam_plain(seam: Seam) -> dict[str, Any]:
    return {
        "name": seam.name,
        "lead": _run_plain(seam.lead),
        "follow": _run_plain(seam.follow),
        "mirror": seam.mirror,
        **_ease_plain(seam.ease),
        "tolerance_mm": seam.tolerance,
        "hold": seam.hold,
        "fixed": seam.fixed,
        "check": seam.check,
        "notches": [list(pair) for pair in seam.notches],
    }


def _welt_plain(one: WeltOpening) -> dict[str, Any]:
    return {
        "name": one.name,
        "on": one.on,
        "line": one.line,
        "from": list(one.anchors),
        "parts": [
            {"piece": part.piece, "sewn": str(part_span(part)), "beyond": part.beyond}
            for part in one.parts
        ],
    }


def _said_mm(mm: float) -> str:
    return f"{mm:g} mm"
