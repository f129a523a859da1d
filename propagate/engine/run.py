"""Run an edit: (set, edit) -> (set, record).

The edit draws; then the changes are carried through the relation graph.  Nothing outside
is read or written.
"""

from __future__ import annotations

from propagate.engine.carry import carry_all
from propagate.engine.edits.blend import Blend
from propagate.engine.edits.settle import Settle
from propagate.engine.job import Drawn, Edit, Job
from propagate.engine.result import Result
from propagate.engine.truing import Corners, with_corners_trued
from propagate.pattern.patternset import PatternSet

__all__ = ["Result", "blend", "run", "run_job", "settle"]


def run(pattern: PatternSet, edit: Edit, *, corners: Corners = "trued") -> Result:
    """Do an edit and carry the change to every companion piece.

    Parameters
    ----------
    pattern : PatternSet
    edit : Edit
    corners : "trued" or "left"
        Where a line that ran on smoothly across a seam no longer does, it is trued, or left.

    Returns
    -------
    Result

    Raises
    ------
    EditError, UnknownName
        When the edit cannot be done on this set.
    Conflict
        When two relations ask different things of the same edge.
    """
    job = edit.job(pattern)
    drawn, result = run_job(edit, job)
    if corners == "trued":
        result = with_corners_trued(job, drawn, result)
    if not job.made:
        return result
    from propagate.engine.edits.size_between import record_with_made  # most take drawn sizes

    return Result(result.pattern, lambda: record_with_made(result.record, job.made))


def run_job(edit: Edit, job: Job) -> tuple[Drawn, Result]:
    """Do an edit of which every choice is made, and carry the change, its corners left.

    Raises as `run`.
    """
    drawn = edit.draw(job)
    return drawn, carry_all(job, drawn)


def blend(pattern: PatternSet, edit: Blend, *, corners: Corners = "trued") -> Result:
    """Blend sizes by level and carry the change to every companion piece.

    Parameters
    ----------
    pattern : PatternSet
    edit : Blend
    corners : "trued" or "left"
        As `run`.

    Returns
    -------
    Result

    Raises
    ------
    EditError, UnknownName, Conflict
        As `run`.

    Examples
    --------
    >>> import propagate
    >>> trousers = propagate.load(propagate.demo_path("slant_trouser"))
    >>> result = propagate.blend(trousers, propagate.Blend({"waist": "42", "hip": "44"}))
    >>> result.sews
    True
    """
    return run(pattern, edit, corners=corners)


def settle(pattern: PatternSet, size: str | None = None) -> Result:
    """Propagate without an edit: visit every relation as if all its edges had changed.

    What lies in its place already is not touched, digit for digit; so a set that was
    propagated comes back as it is.

    Parameters
    ----------
    pattern : PatternSet
    size : str or None
        None takes the base size.

    Raises
    ------
    EditError, UnknownName, Conflict
        As `run`.
    """
    return run(pattern, Settle(size))
