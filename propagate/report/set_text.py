"""What a set holds, in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TypeVar

from propagate.counts import say_count
from propagate.engine.pleats import pleat_words
from propagate.engine.review.taken import free_spans
from propagate.pattern.amount import Amount
from propagate.pattern.buttons import Buttons
from propagate.pattern.derived import Derived, DerivedEdge, Width
from propagate.pattern.ease import Ease, EaseSaid, ease_words
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.pleats import Pleats, folded_run
from propagate.pattern.relations import Girth, Opening, PieceInfo, Seam, SeamOpening, Zone
from propagate.pattern.runs import run_words
from propagate.pattern.tape import Tape
from propagate.pattern.titles import list_words
from propagate.pattern.welts import WeltOpening, part_span
from propagate.report.layout import Column, lay_entries, lay_heading, lay_table, wrap_sentence
from propagate.report.told_words import field_words
from propagate.report.units import MILLIMETRES, Unit

__all__ = ["cut_words", "free_lines", "set_lines"]

_CHANGES = {
    "keep": "keeps its length",
    "nearest": "takes the nearest length on offer",
    "conflict": "may not change its length",
}
_OWN_WORDS = frozenset(
    {
        "assembly", "seam", "opening", "stack", "band", "place", "girth", "seam_opening", "derived",
        "patch", "alike", "buttons", "pleats", "tape", "welt_opening",
    }
)  # fmt: skip
"""Kinds that have a section of their own below; any other goes by its word and its keys."""
Said = TypeVar("Said")
Pairs = Sequence[tuple[str, str]]


def cut_words(info: PieceInfo) -> str:
    """Tell how many of a piece to cut, and from what."""
    words = f"cut {info.cut}"
    if info.pair:
        words += ", mirrored pair" if info.cut == 2 else ", in mirrored pairs"
    if info.fold:
        words += " on the fold"
    return f"{words}, {info.fabric}" if info.fabric else words


# --------------------------------------------------------------------------------- text


def set_lines(pattern: PatternSet, unit: Unit = MILLIMETRES) -> list[str]:
    """Describe a set at 80 columns."""
    lines = wrap_sentence(pattern.name, clip=True)
    if len(pattern.sizes) == 1:
        lines += wrap_sentence(f"1 size: {pattern.base}; a result, or a set in one size", clip=True)
    else:
        lines += wrap_sentence(
            f"{len(pattern.sizes)} sizes: {' '.join(pattern.sizes)}; base {pattern.base}; "
            f"laid over each other on level '{pattern.lay_on}'"
        )
    for title, pairs in _find_sections(pattern, unit):
        lines += lay_heading(title) + lay_entries(list(pairs)) if pairs else []
    if pattern.chart:
        columns = [Column("of the body"), *(Column(size, number=True) for size in pattern.sizes)]
        decimals = 0 if unit.name == "mm" else 2
        rows = [
            [name, *(f"{values[size] / unit.mm:.{decimals}f}" for size in pattern.sizes)]
            for name, values in pattern.chart.items()
        ]
        lines += lay_heading(f"chart ({unit.name})") + lay_table(columns, rows)
    return lines + lay_heading("blend") + wrap_sentence(_say_blending(pattern), 2)


def _say_blending(pattern: PatternSet) -> str:
    """Say which levels can be given a size of their own, as it is typed."""
    if len(pattern.sizes) == 1:
        return "none: the set is in one size"
    plan = pattern.relations.blend
    if plan is not None:
        words = f"--size {plan.upper}=SIZE --size {plan.lower}=SIZE"
        return words + (f", and --size {plan.leg.level}=SIZE for the leg" if plan.leg else "")
    bases = (piece.nest.get(pattern.base) for piece in pattern.pieces.values())
    levels = list(dict.fromkeys(name for sized in bases if sized for name in sized.levels))
    if len(levels) < 2:
        return "none: its pieces have fewer than two levels, such as waist and hip"
    return f"--size LEVEL=SIZE for two or more of the levels {list_words(levels)}"


def _find_sections(pattern: PatternSet, unit: Unit) -> Iterator[tuple[str, Pairs]]:
    """Yield every list of a set: its title, and names with what is said of them."""
    held, pieces = pattern.relations, []
    for name, piece in pattern.pieces.items():
        info, edges = pattern.info[name], " ".join(piece.at(pattern.base).edge_names)
        title = f"{info.title}: " if info.title != name else ""
        pieces.append((name, f"{title}{cut_words(info)}. Edges: {edges}"))
    yield say_count(len(pieces), "piece"), pieces
    yield (
        "taped together, as sewn",
        [(name, " + ".join(one.pieces)) for name, one in held.assemblies.items()],
    )
    yield "sewn together: lead | follower", _tell_each(held.seams, _seam_words, unit)
    yield "pockets", [(name, _pocket_words(pattern, one)) for name, one in held.openings.items()]
    for name, band in held.bands.items():
        title = f"band {name}: {band.piece}.{band.sewn}, zone by zone"
        yield title, [(zone.name, _zone_words(zone, unit)) for zone in band.zones]
    levels: dict[str, list[str]] = {}
    for place in held.places.values():
        levels.setdefault(place.level, []).append(place.piece)
    places = [(f"size of the {level}", ", ".join(names)) for level, names in levels.items()]
    yield "by place: as drawn, in the size of the level", places
    yield "girths", [(name, _girth_words(one)) for name, one in held.girths.items()]
    yield "openings in seams", _tell_each(held.seam_openings, _seam_opening_words, unit)
    yield "derived pieces", _tell_each(held.derived, _derived_words, unit)
    yield "welt openings", _tell_each(held.welt_openings, _welt_words, unit)
    yield "buttons", _tell_each(held.buttons, _button_words, unit)
    pleats = [(name, _pleat_words(pattern, one, unit)) for name, one in held.pleats.items()]
    yield "pleats and tucks", pleats
    yield "elastics and tapes", _tell_each(held.tapes, _tape_words, unit)
    yield "set on a piece", _tell_each(held.patches, field_words, unit)
    yield "cut alike", _tell_each(held.alike, field_words, unit)
    for key in (key for key in KINDS if key not in _OWN_WORDS):
        yield key, _tell_each(relations_of(held, key), field_words, unit)
    free = free_spans(pattern).items()
    texts = [(name, ", ".join(str(s).partition(".")[2] for s in spans)) for name, spans in free]
    yield "edges that nothing is sewn to", texts


def _tell_each(
    relations: Mapping[str, Said], words: Callable[[Said, Unit], str], unit: Unit
) -> list[tuple[str, str]]:
    return [(name, words(one, unit)) for name, one in relations.items()]


def _seam_words(seam: Seam, unit: Unit) -> str:
    other = "its own mirrored twin" if seam.mirror else run_words(seam.follow)
    words = f"{run_words(seam.lead)} | {other}"
    extras = []
    if seam.ease:
        extras.append(_say_ease("ease ", seam.ease, unit))
    extras += _say_beside(seam, unit)
    if seam.hold:
        extras.append(f"hold at '{seam.hold}'")
    if seam.notches:
        extras.append(f"{len(seam.notches)} notch pair{'s' if len(seam.notches) > 1 else ''}")
    if seam.fixed:
        extras.append("the follower is fixed")
    if seam.check:
        extras.append("only walked")
    return f"{words} ({', '.join(extras)})" if extras else words


def _say_ease(word: str, ease: EaseSaid, unit: Unit) -> str:
    """Return an ease in words; a ratio says itself that it is one."""
    plain = isinstance(ease, Ease) and (ease.gathers is not None or ease.stretched is not None)
    return ("" if plain else word) + ease_words(ease, unit.said)


def _say_beside(said: Seam | Zone, unit: Unit) -> list[str]:
    """Tell from which line beside its run a length is taken."""
    found = [(said.out, "outside of"), (said.inside, "inside of")]
    return [f"along a line {unit.said(mm)} {word} the seam line" for mm, word in found if mm]


def _pocket_words(pattern: PatternSet, opening: Opening) -> str:
    words = (
        f"the mouth {opening.piece}.{opening.edge} cuts the corner off {opening.silhouette}, "
        f"from its {opening.across} to its {opening.side}"
    )
    layers = [
        layer.piece + (" (face down)" if layer.face_down else "")
        for stack in pattern.relations.stacks.values()
        if stack.opening == opening.name
        for layer in stack.layers
    ]
    return words + (f"; layers: {', '.join(layers)}" if layers else "")


def _zone_words(zone: Zone, unit: Unit) -> str:
    extras = [_say_ease("eased on by ", zone.ease, unit)] if zone.ease else []
    extras += _say_beside(zone, unit)
    words = run_words(zone.run) or "keeps its length"
    return words + (f" ({', '.join(extras)})" if extras else "")


def _girth_words(girth: Girth) -> str:
    words = f"level '{girth.level}' across {' + '.join(girth.silhouettes)}"
    if girth.level is None:
        words = " + ".join(run_words(run) for run in girth.runs)
    return f"{girth.times} × ({words})"


def _seam_opening_words(opening: SeamOpening, unit: Unit) -> str:
    sides = " | ".join(str(span) for run in opening.sides for span in run)
    offer = ", ".join(unit.length(one) for one in opening.lengths)
    bought = f"; on offer {offer} {unit.name}" if offer else ""
    return f"{sides}: {_CHANGES[opening.change]}{bought}"


def _derived_words(derived: Derived, unit: Unit) -> str:
    edges = ", ".join(_edge_words(one, unit) for one in derived.edges)
    on = " and ".join(derived.closed_edges)
    closed = f"; darts on {on} closed" if on else ""
    on = " and ".join(derived.pleated_edges)
    pleated = f"; darts on {on} are pleats, with a notch at each leg" if on else ""
    return f"of {derived.of}: {edges}{closed}{pleated}"


def _edge_words(one: DerivedEdge, unit: Unit) -> str:
    line = f"the cut line of {one.on}" if one.from_cut else one.on or f"line {one.line}"
    if isinstance(one.out, Amount) or isinstance(one.inside, Amount):
        said = [
            (_width_words(one.out, unit), "outside"),
            (_width_words(one.inside, unit), "inside"),
        ]
        words = " and ".join(f"{width} {side}" for width, side in said if width)
        return f"{one.edge} {words} of {line}"
    by = one.out - one.inside
    if by == 0.0:
        return f"{one.edge} on {line}"
    return f"{one.edge} {unit.said(abs(by))} {'outside' if by > 0.0 else 'inside'} of {line}"


def _width_words(width: Width, unit: Unit) -> str:
    """Return A width, or each size and its own; nothing where there is none."""
    if isinstance(width, Amount):
        return ", ".join(f"{unit.said(mm)} in size {size}" for size, mm in width.sizes)
    return unit.said(width) if width else ""


def _welt_words(opening: WeltOpening, unit: Unit) -> str:
    said = [f"the line '{opening.line}' of {opening.on}"]
    if opening.length is not None:
        lengths = [mm for _, mm in opening.length.sizes] or [opening.length.mm or 0.0]
        said.append(f"{', '.join(unit.length(mm) for mm in lengths)} {unit.name} long")
    said.append(f"measured from {' and '.join(opening.anchors) or 'the two nearest edges'}")
    beyond = (
        f", {unit.said(p.beyond)} beyond at each end" if p.beyond else "" for p in opening.parts
    )
    parts = "; ".join(
        f"{part_span(p)}{more}" for p, more in zip(opening.parts, beyond, strict=True)
    )
    return ", ".join(said) + (f": {parts}" if parts else "")


def _button_words(buttons: Buttons, unit: Unit) -> str:
    sides = " | ".join(
        f"'{mark}' along {span}"
        for run, mark in zip(buttons.sides, buttons.marks, strict=True)
        for span in run
    )
    start, end, spacing = (unit.length(mm) for mm in (buttons.start, buttons.end, buttons.spacing))
    return (
        f"{sides}: {start} {unit.name} from the start, {end} {unit.name} from the end, at most "
        f"{spacing} {unit.name} apart"
    )


def _pleat_words(pattern: PatternSet, pleats: Pleats, unit: Unit) -> str:
    lies = folded_run(pattern.sized(pleats.run[0].piece, pattern.base), pleats)
    stays = "their depth stays" if pleats.keep == "depth" else "their depth goes with the run"
    return f"{pleats.run[0]}: {pleat_words(pleats, lies, unit.said)}; {stays}"


def _tape_words(tape: Tape, unit: Unit) -> str:
    run = run_words(tape.run)
    words = f"{tape.times} times {run}" if tape.times > 1 else run
    said = [ease_words(tape.ease, unit.said)] if tape.ease else []
    said += [f"{unit.said(tape.ends)} for its ends"] if tape.ends else []
    return f"{words}: {'; '.join(said)}" if said else words


def free_lines(pattern: PatternSet) -> list[str]:
    """Tell how many edges nothing is sewn to: a walk says nothing of them."""
    free = free_spans(pattern)
    if not free:
        return []
    edges = say_count(sum(map(len, free.values())), "edge")
    return wrap_sentence(
        f"Not walked: {edges} of {say_count(len(free), 'piece')} that nothing is "
        "sewn to (hems, necklines, free edges); 'propagate show' lists them."
    )
