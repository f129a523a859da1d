"""Rigid motions of the plane, with or without turning a piece face down."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from propagate.geometry.arrays import Array
from propagate.values import dataclass

__all__ = ["IDENTITY", "Motion", "fit", "from_two_points"]


@dataclass(frozen=True)
class Motion:
    """The motion ``z -> turn * z + shift`` of the complex plane.

    Attributes
    ----------
    turn : complex of modulus 1
        Rotation.
    shift : complex
        Translation, mm.
    face_down : bool
        The plane is mirrored in the x axis first (``z`` becomes its conjugate).
    """

    turn: complex = 1 + 0j
    shift: complex = 0j
    face_down: bool = False

    @classmethod
    def about(cls, pin: npt.ArrayLike, turn: complex) -> Motion:
        """Return the rotation about a place (2,), in the direction of a complex number."""
        x, y = np.asarray(pin, dtype=np.float64).tolist()
        at, turn = complex(x, y), turn / abs(turn)
        return cls(turn, at - turn * at)

    @property
    def angle(self) -> float:
        """Rotation in radians, -pi to pi."""
        return float(np.angle(self.turn))

    def apply(self, points: npt.ArrayLike) -> Array:
        """Move points, an (n, 2) or (2,) array; the identity returns them unchanged."""
        given = np.asarray(points, dtype=np.float64)
        if self.turn == 1 and self.shift == 0 and not self.face_down:
            return given
        z = np.ascontiguousarray(given).view(np.complex128)  # x and y lie side by side
        if self.face_down:
            z = z.conj()
        return (self.turn * z + self.shift).view(np.float64)

    def rotate(self, vector: npt.ArrayLike) -> Array:
        """Turn a direction vector (2,), without shifting it."""
        return Motion(self.turn, 0j, self.face_down).apply(vector)

    def inverse(self) -> Motion:
        """Return the motion that undoes this one."""
        back = self.turn.conjugate()
        if self.face_down:
            # z = conj((w - shift) / turn) = turn * conj(w) - turn * conj(shift)
            return Motion(self.turn, -self.turn * self.shift.conjugate(), True)
        return Motion(back, -back * self.shift, False)

    def after(self, first: Motion) -> Motion:
        """Return the motion that does `first` and then this one."""
        turn, shift = first.turn, first.shift
        if self.face_down:
            turn, shift = turn.conjugate(), shift.conjugate()
        both = self.turn * turn
        both = both if both == 1 else both / abs(both)  # stays of modulus 1 in a long chain
        return Motion(both, self.turn * shift + self.shift, self.face_down != first.face_down)


IDENTITY = Motion()


def _as_complex(points: npt.ArrayLike) -> npt.NDArray[np.complex128]:
    array = np.asarray(points, dtype=np.float64)
    out: npt.NDArray[np.complex128] = array[..., 0] + 1j * array[..., 1]
    return out


def from_two_points(
    source: npt.ArrayLike, target: npt.ArrayLike, *, face_down: bool = False
) -> Motion:
    """Return the motion that takes two points to two others.

    The first point lands exactly; the second lands on the ray through its target
    (exactly, when the distances agree).

    Parameters
    ----------
    source, target : (2, 2) arrays, mm
    face_down : bool
        Mirror the source.

    Raises
    ------
    ValueError
        When two of the points coincide.
    """
    a, b = _as_complex(source), _as_complex(target)
    if face_down:
        a = a.conj()
    if abs(a[1] - a[0]) < 1e-12 or abs(b[1] - b[0]) < 1e-12:
        raise ValueError("two points that coincide give no direction")
    turn = complex((b[1] - b[0]) / (a[1] - a[0]))
    turn /= abs(turn)
    return Motion(turn, complex(b[0] - turn * a[0]), face_down)


def fit(
    source: npt.ArrayLike, target: npt.ArrayLike, *, face_down: bool = False
) -> tuple[Motion, float]:
    """Find the least-squares rigid motion of points on points.

    In the plane the best rotation has the closed form
    ``angle(sum(conj(p) * q))`` of the centred points (the two-dimensional case of
    Kabsch 1976).

    Parameters
    ----------
    source, target : (n, 2) arrays, n >= 2, mm

    Returns
    -------
    motion : Motion
    residual : float
        Largest distance left between a moved point and its target, mm.
    """
    p, q = _as_complex(source), _as_complex(target)
    if face_down:
        p = p.conj()
    p0, q0 = p.mean(), q.mean()
    inner = complex(((p - p0).conj() * (q - q0)).sum())
    if abs(inner) < 1e-12:
        raise ValueError("points that coincide give no direction")
    turn = inner / abs(inner)
    motion = Motion(turn, complex(q0 - turn * p0), face_down)
    return motion, float(np.abs(turn * p + motion.shift - q).max())
