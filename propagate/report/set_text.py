"""What a set holds, in words and as plain values."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from propagate.engine.review.taken import free_spans
from propagate.pattern.ease import Ease, EaseSaid, ease_words, plain_amount
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relation_edges import runs_of
from propagate.pattern.relations import PieceInfo, Run, Seam, Zone
from propagate.report.button_text import button_lines, buttons_plain
from propagate.report.derived_text import derived_lines, derived_plain, seam_opening_lines
from propagate.report.layout import Column, entries, heading, sentence, table
from propagate.report.pleat_text import pleat_lines, pleats_plain
from propagate.report.tape_text import tape_lines, tapes_plain
from propagate.report.units import MILLIMETRES, Unit, counted
from propagate.report.welt_text import welt_lines, welts_plain

__all__ = ["cut_words", "free_lines", "run_words", "set_lines", "set_plain"]


def cut_words(info: PieceInfo) -> str:
    """How many of a piece to cut, and from what."""
    words = f"cut {info.cut}"
    if info.pair:
        words += ", mirrored pair" if info.cut == 2 else ", in mirrored pairs"
    if info.fold:
        words += " on the fold"
    return f"{words}, {info.fabric}" if info.fabric else words


def run_words(run: Run) -> str:
    """A run as it is written."""
    return " + ".join(str(span) for span in run)


# --------------------------------------------------------------------------------- text


def set_lines(pattern: PatternSet, unit: Unit = MILLIMETRES) -> list[str]:
    """Describe a set at 80 columns."""
    lines = sentence(pattern.name, clip=True)
    if len(pattern.sizes) == 1:
        lines += sentence(f"1 size: {pattern.base}; a result, or a set in one size", clip=True)
    else:
        lines += sentence(
            f"{len(pattern.sizes)} sizes: {' '.join(pattern.sizes)}; base {pattern.base}; "
            f"laid over each other on level '{pattern.lay_on}'"
        )
    lines += _pieces(pattern)
    lines += _taped(pattern)
    lines += _seams(pattern, unit)
    lines += _pockets(pattern)
    lines += _bands(pattern, unit)
    lines += _places(pattern)
    lines += _girths(pattern)
    lines += seam_opening_lines(pattern, unit)
    lines += derived_lines(pattern, unit)
    lines += welt_lines(pattern, unit)
    lines += button_lines(pattern, unit)
    lines += pleat_lines(pattern, unit)
    lines += tape_lines(pattern, unit)
    lines += _others(pattern)
    lines += _free(pattern)
    lines += _chart(pattern, unit)
    lines += _blend(pattern)
    return lines


def _pieces(pattern: PatternSet) -> list[str]:
    pairs = []
    for name, piece in pattern.pieces.items():
        info = pattern.info[name]
        edges = " ".join(piece.at(pattern.base).edge_names)
        title = f"{info.title}: " if info.title != name else ""
        pairs.append((name, f"{title}{cut_words(info)}. Edges: {edges}"))
    return heading(counted(len(pairs), "piece")) + entries(pairs)


def _taped(pattern: PatternSet) -> list[str]:
    pairs = [
        (name, " + ".join([assembly.lead, *(part.piece for part in assembly.parts)]))
        for name, assembly in pattern.relations.assemblies.items()
    ]
    return heading("taped together, as sewn") + entries(pairs) if pairs else []


def _seams(pattern: PatternSet, unit: Unit) -> list[str]:
    pairs = [(name, _seam_words(seam, unit)) for name, seam in pattern.relations.seams.items()]
    return heading("sewn together: lead | follower") + entries(pairs) if pairs else []


def _seam_words(seam: Seam, unit: Unit) -> str:
    other = "its own mirrored twin" if seam.mirror else run_words(seam.follow)
    words = f"{run_words(seam.lead)} | {other}"
    extras = []
    if seam.ease:
        extras.append(_eased("ease ", seam.ease, unit))
    extras += _beside(seam, unit)
    if seam.hold:
        extras.append(f"hold at '{seam.hold}'")
    if seam.notches:
        extras.append(f"{len(seam.notches)} notch pair{'s' if len(seam.notches) > 1 else ''}")
    if seam.fixed:
        extras.append("the follower is fixed")
    if seam.check:
        extras.append("only walked")
    return f"{words} ({', '.join(extras)})" if extras else words


def _eased(word: str, ease: EaseSaid, unit: Unit) -> str:
    """An ease in words; a ratio says itself that it is one."""
    plain = isinstance(ease, Ease) and (ease.gathers is not None or ease.stretched is not None)
    return ("" if plain else word) + ease_words(ease, unit.said)


def _beside(said: Seam | Zone, unit: Unit) -> list[str]:
    """From which line beside its run a length is taken."""
    found = [(said.out, "outside of"), (said.inside, "inside of")]
    return [f"along a line {unit.said(mm)} {word} the seam line" for mm, word in found if mm]


def _pockets(pattern: PatternSet) -> list[str]:
    pairs = []
    for name, opening in pattern.relations.openings.items():
        words = (
            f"the mouth {opening.piece}.{opening.edge} cuts the corner off {opening.silhouette}, "
            f"from its {opening.across} to its {opening.side}"
        )
        layers = [
            layer.piece + (" (face down)" if layer.face_down else "")
            for stack in pattern.relations.stacks.values()
            if stack.opening == name
            for layer in stack.layers
        ]
        pairs.append((name, words + (f"; layers: {', '.join(layers)}" if layers else "")))
    return heading("pockets") + entries(pairs) if pairs else []


def _bands(pattern: PatternSet, unit: Unit) -> list[str]:
    lines: list[str] = []
    for name, band in pattern.relations.bands.items():
        lines += heading(f"band {name}: {band.piece}.{band.sewn}, zone by zone")
        pairs = []
        for zone in band.zones:
            words = run_words(zone.run) or "keeps its length"
            extras = [_eased("eased on by ", zone.ease, unit)] if zone.ease else []
            extras += _beside(zone, unit)
            words += f" ({', '.join(extras)})" if extras else ""
            pairs.append((zone.name, words))
        lines += entries(pairs)
    return lines


def _places(pattern: PatternSet) -> list[str]:
    levels: dict[str, list[str]] = {}
    for place in pattern.relations.places.values():
        levels.setdefault(place.level, []).append(place.piece)
    pairs = [(f"size of the {level}", ", ".join(names)) for level, names in levels.items()]
    return heading("by place: as drawn, in the size of the level") + entries(pairs) if pairs else []


def _girths(pattern: PatternSet) -> list[str]:
    pairs = []
    for name, girth in pattern.relations.girths.items():
        if girth.level is None:
            words = " + ".join(run_words(run) for run in girth.runs)
        else:
            words = f"level '{girth.level}' across {' + '.join(girth.silhouettes)}"
        pairs.append((name, f"{girth.times} × ({words})"))
    return heading("girths") + entries(pairs) if pairs else []


def _others(pattern: PatternSet) -> list[str]:
    """Relations of kinds that are told by their word and their runs alone."""
    lines: list[str] = []
    for key, kind in KINDS.items():
        group = {} if kind.kept else relations_of(pattern.relations, key)
        pairs = []
        for name, relation in group.items():
            said = (f"{part} {run_words(run)}" for part, run in runs_of(relation) if run)
            pairs.append((name, "; ".join(said)))
        lines += heading(key) + entries(pairs) if pairs else []
    return lines


def _free(pattern: PatternSet) -> list[str]:
    pairs = [
        (name, ", ".join(str(span).partition(".")[2] for span in spans))
        for name, spans in free_spans(pattern).items()
    ]
    return heading("edges that nothing is sewn to") + entries(pairs) if pairs else []


def free_lines(pattern: PatternSet) -> list[str]:
    """How many edges nothing is sewn to: a walk says nothing of them."""
    free = free_spans(pattern)
    if not free:
        return []
    edges = sum(len(spans) for spans in free.values())
    return sentence(
        f"Not walked: {counted(edges, 'edge')} of {counted(len(free), 'piece')} that nothing is "
        "sewn to (hems, necklines, free edges); 'propagate show' lists them."
    )


def _chart(pattern: PatternSet, unit: Unit) -> list[str]:
    if not pattern.chart:
        return []
    columns = [Column("of the body"), *(Column(size, number=True) for size in pattern.sizes)]
    decimals = 0 if unit.name == "mm" else 2
    rows = [
        [name, *(f"{values[size] / unit.mm:.{decimals}f}" for size in pattern.sizes)]
        for name, values in pattern.chart.items()
    ]
    return heading(f"chart ({unit.name})") + table(columns, rows)


def _blend(pattern: PatternSet) -> list[str]:
    plan = pattern.relations.blend
    if plan is None:
        return heading("blend") + sentence("none: set.toml has no [blend] section", 2)
    words = f"--size {plan.upper}=SIZE --size {plan.lower}=SIZE"
    if plan.leg is not None:
        words += f", and --size {plan.leg.level}=SIZE for the leg"
    return heading("blend") + sentence(words, 2)


# -------------------------------------------------------------------------------- plain


def set_plain(pattern: PatternSet) -> dict[str, Any]:
    """Describe a set as plain values."""
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
        **derived_plain(pattern),
        "welt_openings": welts_plain(pattern),
        "buttons": buttons_plain(pattern),
        "pleats": pleats_plain(pattern),
        "tapes": tapes_plain(pattern),
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
    words = {} if amount is not None else {"ease": ease_words(ease, lambda mm: f"{mm:g} mm")}
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
