"""Soles on ground that is not even: the plane that a foot stands on, and the better place nearby."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import Ground

Array = npt.NDArray[np.float64]

# Where a sole is compared with the ground: shares of its length from toe to heel, and of its half width.
LENGTHWAYS, ACROSS = np.linspace(0.0, 1.0, 7), np.array([-1.0, 0.0, 1.0])
# A sole that is kept clear of an edge keeps so much from it. [m]
ROOM_M = 0.012


@dataclass(frozen=True, eq=False)
class Soles:
    """The soles of some stances: (stances,) each.

    Attributes
    ----------
    toe_m, heel_m, half_width_m
        Length before and behind the joint of the foot, and half its width. [m]
    """

    toe_m: Array
    heel_m: Array
    half_width_m: Array

    def points_m(self, place_m: Array, heading_rad: Array, room_m: float = 0.0) -> tuple[Array, Array, Array]:
        """Lay points under soles whose toes are at places (..., stances, 2).

        Returns
        -------
        places
            (..., stances, points, 2). [m]
        back, left
            (stances, points) behind the toe and to its left. [m]
        """
        length = self.toe_m + self.heel_m + 2.0 * room_m
        back, left = (each.ravel() for each in np.meshgrid(LENGTHWAYS, ACROSS, indexing="ij"))
        back = back * length[:, None] - room_m
        left = left * (self.half_width_m[:, None] + room_m)
        cos, sin = np.cos(heading_rad)[..., None], np.sin(heading_rad)[..., None]
        x = place_m[..., 0, None] - back * cos - left * sin
        y = place_m[..., 1, None] - back * sin + left * cos
        return np.stack([x, y], axis=-1), back, left


@dataclass(frozen=True, eq=False)
class Footholds:
    """Where soles lie on the ground.

    Attributes
    ----------
    height_m
        (...) of the toe. [m]
    normal
        (..., 3) of the sole.
    rough_m
        (...) greatest gap under a sole that touches the ground from above. [m]
    """

    height_m: Array
    normal: Array
    rough_m: Array


def footholds(
    ground: Ground, place_m: Array, heading_rad: Array, soles: Soles, room_m: float = 0.0
) -> Footholds:
    """Lay soles on the ground: the plane through it, as high as its highest point asks.

    Parameters
    ----------
    ground
        The ground; nan comes out where it has a hole.
    place_m, heading_rad
        (..., stances, 2) of the toes [m], and (..., stances) directions of the feet [rad].
    soles
        Of those stances.
    room_m
        So much larger than it is each sole is taken. [m]
    """
    points, back, left = soles.points_m(place_m, heading_rad, room_m)
    heights = ground.known_m(points)  # (..., stances, points)
    ones = np.ones_like(back)
    table = np.stack([ones, back, left], axis=-1)  # (stances, points, 3)
    fitted = np.einsum("skp,...sp->...sk", np.linalg.pinv(table), heights)
    off = heights - np.einsum("spk,...sk->...sp", table, fitted)
    above = off.max(axis=-1)
    rise_ahead, rise_left = -fitted[..., 1], fitted[..., 2]
    cos, sin = np.cos(heading_rad), np.sin(heading_rad)
    slope = np.stack([rise_ahead * cos - rise_left * sin, rise_ahead * sin + rise_left * cos], axis=-1)
    normal = np.concatenate([-slope, np.ones((*slope.shape[:-1], 1))], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    return Footholds(fitted[..., 0] + above, normal, above - off.min(axis=-1))
