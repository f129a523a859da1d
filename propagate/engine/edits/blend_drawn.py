"""What a blend hands to the engine: its silhouettes, what they changed, and how it is measured."""

from __future__ import annotations

from propagate.engine.edits.blend import Blend, Blended, Resolved, blend_silhouettes, resolve_blend
from propagate.engine.edits.blend_report import blend_measures, girth_sizes
from propagate.engine.edits.level_laying import level_changes
from propagate.engine.edits.settle import every_edge
from propagate.engine.graph import silhouette_node
from propagate.engine.job import Drawn, Job
from propagate.engine.record import EDIT, Change, ChangeKind

__all__ = ["drawn_blend"]

_DRAWN = "drawn anew from the hold to the top of size {}"


def drawn_blend(edit: Blend, job: Job) -> Drawn:
    """Draw a blend of sizes by level.

    Raises
    ------
    EditError
        When a hold cannot be found or lies above the lower level.
    Conflict
        When no corners satisfy both mains.
    """
    chosen = resolve_blend(job.pattern, edit)
    blended = blend_silhouettes(job.pattern, edit, chosen)
    plan = chosen.plan
    levels = (plan.upper, plan.lower, *([plan.leg.level] if plan.leg else []))
    said = ", ".join(f"{level} {size}" for level, size in sorted(edit.sizes.items()))
    return Drawn(
        said=f"blend of sizes: {said}",
        words={
            "kind": "blend",
            "sizes": {level: edit.sizes[level] for level in levels if level in edit.sizes},
            "follow": edit.follow,
            "top": edit.top,
            "rise": edit.rise,
            "pocket": edit.pocket,
            "pocket_size": chosen.pocket,
            "leg_size": chosen.leg,
            "hold": edit.hold,
        },
        edited=blended.edited,
        changes=tuple(_list_changes(job, chosen, blended)),
        girth_sizes=girth_sizes(job.pattern, chosen),
        measure=lambda state, girths: blend_measures(state, blended, edit.top, girths),
        # Of a size that nobody drew it is told how it sews, also where it is blended with itself.
        walked=every_edge(job.pattern, blended.edited) if job.made and chosen.plain else (),
        trued=edit.top == "trued",
    )


def _list_changes(job: Job, chosen: Resolved, blended: Blended) -> list[Change]:
    """What the edit itself changed, as nodes of the relation graph."""
    roles = {
        (main.silhouette, edge): role
        for main in chosen.plan.mains
        for edge, role in (
            (main.across, f"top of size {chosen.upper}, trued towards the side"),
            (main.centre, f"size {chosen.upper} above the hold, faded on to {chosen.lower}"),
            (main.side, _DRAWN.format(chosen.upper)),
        )
    }
    roles.update(
        ((side.laid.main.silhouette, side.laid.main.side), _DRAWN.format(chosen.upper))
        for side in blended.sides
    )
    changes = [
        Change(
            silhouette_node(name, edge),
            ChangeKind.DRAWN,
            roles.get((name, edge), f"leg of size {chosen.leg}"),
            EDIT,
        )
        for name, edited in blended.edited.items()
        for edge in sorted(edited.changed)
    ]
    return changes + level_changes(job)
