"""Take out, tape as sewn, lay the other size or the revised drawing on."""

from __future__ import annotations

from collections.abc import Iterable

from propagate.engine.main_sides import two_sided_mains
from propagate.engine.record import EDIT, ChangeKind
from propagate.engine.summed import edit_node
from propagate.pattern.relations import Assembly, AssemblyPart, BlendMain, BlendPlan
from propagate.pattern.titles import list_words
from propagate.report.worksheet.value import Purpose, Sentence, Step, Taken
from propagate.report.worksheet.words import Source

__all__ = ["edits_told", "lay_steps", "take_step", "taken_out", "tape_steps"]


def taken_out(source: Source) -> tuple[Taken, ...]:
    """Return pieces to take out: those that are re-cut, then those to tape and to lay over."""
    rows = {
        (piece, source.taken(piece)): Taken(
            piece, source.title(piece), source.taken(piece), "to change"
        )
        for piece in source.changed
    }

    def add(piece: str, size: str, purpose: Purpose) -> None:
        rows.setdefault((piece, size), Taken(piece, source.title(piece), size, purpose))

    for assembly, parts in _taped_assemblies(source):
        size = source.taken(assembly.lead)
        for part in parts:
            add(part.piece, size, "to tape")
    for main in _laid_mains(source):
        for size in _upper_sizes(source):
            for piece in _pieces_of(source, main.silhouette):
                add(piece, size, "to lay over")
    for row in source.record.openings:
        if (row.piece, row.edge) in source.openings:
            add(row.piece, row.size, "to lay over")
    return tuple(rows.values())


def take_step(taken: tuple[Taken, ...]) -> Step:
    """Return the first step: how the pieces are laid ready."""
    text = (
        "Each piece in its size. Trace what changed on fresh paper and keep the old pieces. Draw "
        "the seam line on every piece that does not have it."
    )
    pieces = tuple(dict.fromkeys(row.piece for row in taken if row.purpose == "to change"))
    return Step(0, "Take out the pieces", pieces, (Sentence(text),))


# ------------------------------------------------------------------------------- tape


def _taped_assemblies(source: Source) -> list[tuple[Assembly, list[AssemblyPart]]]:
    """Return assemblies whose lead changed, with the parts that changed."""
    found = []
    for assembly in source.relations.assemblies.values():
        parts = [part for part in assembly.parts if part.piece in source.changed]
        if assembly.lead in source.changed and parts:
            found.append((assembly, parts))
    return found


def tape_steps(source: Source) -> Iterable[Step]:
    """Tell which landmark of which piece goes on which point of the lead."""
    for assembly, parts in _taped_assemblies(source):
        size = source.taken(assembly.lead)
        sentences = []
        for part in parts:
            put = [
                f"{source.landmark(part.piece, own)} of {source.title(part.piece)} on "
                f"{source.landmark(assembly.lead, theirs)} of {source.title(assembly.lead)}"
                for own, theirs in part.put
            ]
            side = ", face down" if part.face_down else ""
            sentences.append(
                Sentence(
                    f"Lay {source.title(part.piece)}, size {size}{side}, on "
                    f"{source.title(assembly.lead)}: put {list_words(put)}. Tape."
                )
            )
        sentences.append(
            Sentence(
                f"The pieces are now one outline, called ‘{source.called(assembly.name)}’ here, "
                "with the corner that the opening cuts off."
            )
        )
        pieces = (assembly.lead, *(part.piece for part in parts))
        title = f"Tape {source.titles(pieces)} together, as sewn"
        yield Step(0, title, pieces, tuple(sentences))


# ------------------------------------------------------------------------------ lay on


def _pieces_of(source: Source, silhouette: str) -> list[str]:
    """Return the changed pieces of a silhouette, its lead first."""
    assembly = source.relations.assemblies.get(silhouette)
    names = (silhouette,) if assembly is None else assembly.pieces
    return [name for name in names if name in source.changed]


def _laid_mains(source: Source) -> list[BlendMain]:
    """Return mains of a blend that changed, by the set's plan."""
    plan = source.relations.blend
    if plan is None or source.record.options.kind != "blend":
        return []
    return [main for main in plan.mains if _pieces_of(source, main.silhouette)]


def _upper_sizes(source: Source) -> list[str]:
    """Return sizes that are laid over the lower one: that of the top, that of the leg."""
    options, plan = source.record.options, source.relations.blend
    sizes = [source.upper]
    if plan is not None and plan.leg is not None:
        sizes.append(options.leg_size or source.lower)
    return [size for size in dict.fromkeys(sizes) if size != source.lower]


def lay_steps(source: Source) -> Iterable[Step]:
    """Yield the steps that lay the other size over, or the drawing of a revision on."""
    if source.given:
        names = tuple(piece for piece in source.changed if piece in source.given)
        if names and source.record.options.of_drawing:
            text = (
                f"Lay the revised drawing of {source.titles(names)} on the old piece of size "
                f"{source.record.size}, so that the lines that did not change lie on each other. "
                "Pin, and trace the new lines. Where there is no drawing in this size, draw them "
                "by the figures."
            )
            yield Step(0, "Lay the revised drawing on", names, (Sentence(text),))
        return
    mains, plan = _laid_mains(source), source.relations.blend
    if not mains or plan is None or not _upper_sizes(source):
        return
    pieces = tuple(dict.fromkeys(p for m in mains for p in _pieces_of(source, m.silhouette)))
    level = source.called(source.pattern.lay_on)
    holds = [source.called(main.centre_hold) for main in mains]
    levels = list(dict.fromkeys([level, *holds]))
    drawn = f"{list_words(levels)} level{'s' * (len(levels) > 1)}"
    them = "them" if len(levels) > 1 else "it"
    text = f"Draw the {drawn} square to the grain on every piece that does not have {them}."
    if _taped_assemblies(source):
        text += " A piece that is taped above is taped in the other size too."
    sentences = [Sentence(text)]
    middles = two_sided_mains(source.pattern, plan)
    sentences += [
        Sentence(
            f"Lay {source.silhouette(main.silhouette)} of size {size} over size {source.lower}: "
            f"the {level} level on the {level} level, "
            + (
                "the middle between its sides on the middle"
                if main.silhouette in middles
                else "centre on centre"
            )
            + f" at the hold ({source.called(main.centre_hold)} level). Keep the grain lines "
            "parallel; do not turn it. Pin."
        )
        for main in mains
        for size in _upper_sizes(source)
    ]
    sentences += _what_is_traced(source, plan, mains)
    yield Step(0, "Lay the other size over", pieces, tuple(sentences))


def _what_is_traced(source: Source, plan: BlendPlan, mains: list[BlendMain]) -> list[Sentence]:
    options, found = source.record.options, []
    rise = options.rise
    tops = list_words([f"{source.silhouette(m.silhouette)} of size {source.upper}" for m in mains])
    if rise == "lower":
        found.append(
            Sentence(
                f"Then slide {tops} along the grain, each until its top at the centre is as far "
                "from the "
                f"{source.called(source.pattern.lay_on)} level as in size {source.lower}."
            )
        )
    elif isinstance(rise, (int, float)):
        found.append(
            Sentence(
                f"Then slide {tops} along the grain, all by as much, until the top at the centre "
                f"of {source.silhouette(mains[0].silhouette)} is {source.said(float(rise))} from "
                f"the {source.called(source.pattern.lay_on)} level.",
                (("rise_mm", float(rise)),),
            )
        )
    if source.upper != source.lower:
        darts = any(source.sized(p).darts for m in mains for p in _pieces_of(source, m.silhouette))
        found.append(
            Sentence(
                f"Trace the top of size {source.upper}"
                + (" with its darts and marks" if darts else "")
                + " as a guide only: truing moves it, most at the side corner. Where it comes "
                "out, the figures say."
            )
        )
    leg = options.leg_size or source.lower
    if plan.leg is not None and leg != source.lower:
        found.append(
            Sentence(
                f"Below the {source.called(plan.leg.level)} level size {leg} is the guide; above "
                f"the {source.called(plan.leg.hold)} level nothing of the leg changes."
            )
        )
    return found


def edits_told(source: Source) -> tuple[str, ...]:
    """Tell what edits change, in their own words and in order; nothing of a blend or a drawing."""
    options = source.record.options
    if options.kind == "blend" or options.of_drawing or not source.given:
        return ()
    every = [change for change in source.record.changes if change.kind is ChangeKind.EDIT]
    own = [change for change in every if change.id != EDIT] or every
    found = []
    for change in own:
        name = change.id.removeprefix(edit_node("")) if change.id != EDIT else ""
        said = f"{name}: {change.what}" if name else change.what
        found.append(f"{source.in_words(said)}.")
    return tuple(found)
