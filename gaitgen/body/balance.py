"""One balance for every gait: the forces under the feet and the motion of the body they carry.

Unknown are the heights of a few bumps of force, in three directions, for every stance; place and rotation of
the body follow by integrating Newton's and Euler's equations, linearised about the standing body in the frame
that goes along the path. A small convex programme finds the smoothest forces that push, stay inside the
friction cone, share the load as the animal does, point to a fixed point above each girdle (Jayes A.S. &
Alexander R.McN. 1978, J Zool 185:289-308), and, as far as the gait walks, carry each end over its feet as on
struts.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.animal.mass import WholeBody
from gaitgen.body.bumps import Stances
from gaitgen.body.mechanics import BESIDE, FREEDOMS, given_motion, motion_maps
from gaitgen.body.prices import price_of_forces
from gaitgen.body.programme import inverse_root, solve_programme
from gaitgen.body.terms import Term, motion_terms
from gaitgen.body.wanted import Wanted
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Friction is a cone of this; forces stay inside a pyramid in it, whose base is a square but in fast turns.
FRICTION = 0.6
# There it is as wide to the side as so many times what the turn asks for, up to this share of the cone.
TURN_ROOM, WIDEST = 1.15, 0.96


@dataclass(frozen=True, eq=False)
class Part:
    """Some of what the body is to do, with the unknowns that do it.

    Attributes
    ----------
    terms
        What it is to do.
    unknowns
        Numbers of those that move what these mix; of all others nothing is asked here.
    rows
        (rows, unknowns) how far each of them does it.
    """

    terms: tuple[Term, ...]
    unknowns: Ints
    rows: Array

    @classmethod
    def of(cls, terms: tuple[Term, ...], moved: Array, unknowns: Ints, before: Part | None = None) -> Part:
        """Ask some terms of some unknowns, which move the freedoms so: (freedoms, samples, unknowns).

        What is asked as in a part ``before``, of the same unknowns, is taken from there.
        """
        own = {name: moved[FREEDOMS.index(name)] for name in set().union(*(term.mix for term in terms))}
        if unknowns.size < moved.shape[2]:
            own = {name: each[:, unknowns] for name, each in own.items()}
        known = [None if before is None else before.rows_of(term) for term in terms]
        rows = [term.mixed(own) if it is None else it for term, it in zip(terms, known, strict=True)]
        return cls(terms, unknowns, np.concatenate(rows))

    def rows_of(self, term: Term) -> Array | None:
        """Return the rows of a term as this part asks it; None where it does not."""
        ends = np.cumsum([each.target[:: each.every].size for each in self.terms])
        for each, after in zip(self.terms, ends.tolist(), strict=True):
            if each.is_mixed_alike(term):
                return self.rows[after - each.target[:: each.every].size : after]
        return None

    def missing(self, given: Array) -> Array:
        """Say what forces have to make, in units, beside what is given, (freedoms, samples): (rows,)."""
        return np.concatenate([term.missing(given) for term in self.terms])


@dataclass(frozen=True, eq=False)
class Programme:
    """What is worked out from the feet alone, whatever moves the body beside their forces.

    Attributes
    ----------
    moved
        (freedoms, samples, unknowns) displacement for one unit of each unknown.
    parts
        What the body is to do.
    hessian, gradient
        (unknowns, unknowns) of all that is wanted, and (unknowns,) of what the forces are to do.
    closing
        (closings, unknowns) mean acceleration, over a period, for one unit of each unknown.
    pushing
        (bounds, unknowns) rows that must not become negative.
    """

    moved: Array
    parts: tuple[Part, ...]
    hessian: Array
    gradient: Array
    closing: Array
    pushing: Array

    @cached_property
    def root(self) -> Array:
        """(unknowns, unknowns) inverse of the upper root of the hessian."""
        return inverse_root(self.hessian)


@dataclass(frozen=True, eq=False)
class Balance:
    """Forces, and how the body moves under them.

    Attributes
    ----------
    force_n
        (samples, 4, 3) of the ground on each foot, forward, left, up. [N]
    moved_m
        (samples, 3) centre of mass from where it stands: forward, left, up. [m]
    turned_rad
        (samples, 3) roll, pitch, yaw of the body. [rad]
    programme
        What was worked out on the way, for a balance on the same feet.
    """

    force_n: Array
    moved_m: Array
    turned_rad: Array
    programme: Programme


def balance(
    grid: Grid,
    stances: Stances,
    body: WholeBody,
    wanted: Wanted,
    before: Balance | None = None,
    *,
    is_reheld: bool = False,
) -> Balance:
    """Find the forces under the feet and the motion of the body.

    Parameters
    ----------
    grid, stances
        Moments; stances with their bumps on those moments.
    body
        The standing animal as one body.
    wanted
        Struts, shares, places of the feet.
    before
        A balance of the same, in which at most ``besides`` was another: what the feet make is taken from it.
    is_reheld
        Whether the heights were others, too, at which the body is held.

    Returns
    -------
    Balance
        With a period: impulses of a stride carry the weight exactly, and the motion closes.

    Notes
    -----
    Valid for turns small enough to be linear (under some 15 degrees). Coriolis terms of a turning path are
    left out: at 1.4 m/s on 4 m they are under 1 % of gravity.
    """
    programme = None if before is None else before.programme
    if programme is None or is_reheld:
        programme = _programme(grid, stances, body, wanted, programme)
    given = given_motion(grid, body, wanted)
    gradient = programme.gradient.copy()
    for part in programme.parts:
        gradient[part.unknowns] += part.missing(given) @ part.rows
    equal, equal_to = _closing(programme, wanted)
    root = None if grid.is_periodic else programme.root
    heights = solve_programme(programme.hessian, gradient, equal, equal_to, programme.pushing, root)
    moved = dict(zip(FREEDOMS, programme.moved @ heights + given, strict=True))
    up, forward, leftward = heights[: 3 * stances.bumps].reshape(3, -1)
    return Balance(
        force_n=stances.under_feet(np.stack([forward, leftward, up])) * body.mass_kg * GRAVITY_M_S2,
        moved_m=np.stack([moved["x"], moved["y"], moved["z"]], axis=1),
        turned_rad=np.stack([moved["roll"], moved["pitch"], moved["yaw"]], axis=1),
        programme=programme,
    )


def _programme(
    grid: Grid, stances: Stances, body: WholeBody, wanted: Wanted, before: Programme | None
) -> Programme:
    """Work out what the feet make; what was the same ``before``, held elsewhere, is taken from there."""
    if before is None:
        moved, closing = motion_maps(grid, stances, body, wanted)
    else:
        moved, closing = before.moved, before.closing
    terms, unknowns = tuple(motion_terms(grid, stances, wanted, body.centre_m[2])), moved.shape[2]
    known = () if before is None else before.parts
    parts = (Part.of(terms, moved, np.arange(unknowns)),) if grid.is_periodic else _parts(terms, moved, known)
    hessian, gradient = price_of_forces(grid, stances, wanted, unknowns)
    for part in parts:
        _add(hessian, part.unknowns, part.rows.T @ part.rows)
    pushing = _pushing(stances, unknowns, _pyramid(stances, wanted)) if before is None else before.pushing
    return Programme(moved, parts, hessian, gradient, closing, pushing)


def _add(whole: Array, rows: Ints, part: Array) -> None:
    """Add a part to some rows, and the columns of the same numbers, in place: run by run of these numbers."""
    ends = [0, *(np.flatnonzero(np.diff(rows) != 1) + 1).tolist(), rows.size]
    runs = [(slice(a, b), slice(int(rows[a]), int(rows[b - 1]) + 1)) for a, b in pairwise(ends)]
    for here, there in runs:
        for across, over in runs:
            whole[there, over] += part[here, across]


def _parts(terms: tuple[Term, ...], moved: Array, before: tuple[Part, ...]) -> tuple[Part, ...]:
    """Put terms that mix the same freedoms together, as the unknowns of a long motion are many."""
    moves = dict(zip(FREEDOMS, np.asarray(moved.any(axis=1)), strict=True))  # (unknowns,) each
    alike: dict[frozenset[str], list[Term]] = {}
    for term in terms:
        alike.setdefault(frozenset(term.mix), []).append(term)
    known = {frozenset(part.terms[0].mix): part for part in before}
    return tuple(
        Part.of(tuple(own), moved, np.flatnonzero(np.any([moves[k] for k in mix], axis=0)), known.get(mix))
        for mix, own in alike.items()
    )


def _closing(programme: Programme, wanted: Wanted) -> tuple[Array, Array]:
    """Demand what holds exactly: over a period the ground carries the weight, and nothing turns or drifts."""
    needed = wanted.besides.mean(axis=0)
    needed[:2] += wanted.path_m_s2.mean(axis=0)
    needed[2] += GRAVITY_M_S2
    rows = programme.closing
    order = [BESIDE.index(name) for name in FREEDOMS][: len(rows)]
    scale = np.abs(rows).max(axis=1)
    return rows / scale[:, None], needed[order] / scale


def _pyramid(stances: Stances, wanted: Wanted) -> tuple[Array, Array]:
    """Return half the width of the friction pyramid, forward and to the side, over its height: (bumps,) each.

    A stance has the room to the side that the turn asks for while it lasts; before a fast turn there is as
    much to push off with as anywhere.
    """
    square = FRICTION / np.sqrt(2.0)
    inwards = TURN_ROOM * np.abs(wanted.path_m_s2[:, 1]) / GRAVITY_M_S2
    of_bump = np.where(stances.values > 0.0, inwards[:, None], 0.0).max(axis=0)
    asked = np.maximum.reduceat(of_bump, stances.first[:-1])[stances.stance]
    aside = np.where(asked <= square, square, np.minimum(asked, WIDEST * FRICTION))
    return np.where(asked <= square, square, np.sqrt(FRICTION**2 - aside**2)), aside


def _pushing(stances: Stances, unknowns: int, pyramid: tuple[Array, Array]) -> Array:
    """Rows that must not be negative: every bump pushes, and is inside the friction pyramid."""
    size, sides = stances.bumps, 2 * len(pyramid)
    rows = np.zeros((1 + sides, size, unknowns))
    bump = np.arange(size)
    rows[0, bump, bump] = 1.0
    for k, width in enumerate(pyramid, start=1):
        rows[2 * k - 1 : 2 * k + 1, bump, bump] = width
        rows[2 * k - 1, bump, k * size + bump] = 1.0
        rows[2 * k, bump, k * size + bump] = -1.0
    return rows.reshape(-1, unknowns)
