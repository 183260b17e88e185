"""Where the channels of a BVH file put the toes, and how far each channel can move them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import depth_first
from gaitgen.motion.toes import NUDGE
from gaitgen.numerics.rotations import cos_sin

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Feet:
    """The feet of an animal in a BVH file, in LIMBS order; lengths in the unit of the file.

    Attributes
    ----------
    rotation_order
        Of the file.
    chains
        (depth, 4) joints from the foot up to the root, as places in the file; shorter chains begin with a
        place after the last one, which stands for a joint that does nothing.
    offsets
        (joints + 1, 3) of the joints in the order of the file; the root's is zero.
    tips
        (4, 3) ground point of the toe from the joint of the foot.
    """

    rotation_order: str
    chains: Ints
    offsets: Array
    tips: Array

    def toes(self, table: Array) -> Array:
        """Follow the ground points of the toes through rows of channels, (rows, 4, 3)."""
        return self.each_toe(np.broadcast_to(table, (self.chains.shape[1], *table.shape)))

    def each_toe(self, tables: Array) -> Array:
        """Follow each toe through rows of its own, (4, rows, channels) to (rows, 4, 3)."""
        return _on_root(self._seen(tables), tables)

    def each_toe_and_slopes(self, tables: Array, own: list[Ints]) -> tuple[Array, list[Array]]:
        """Follow each toe, and find where channels of its leg take it; see `ToeFinder`.

        What a nudge of a channel moves the toe by is carried up to the root beside the toe. Nothing but turns
        moves it on the way, so that it is small from beginning to end and all else is followed once.
        """
        seen, moved = self._followed(tables, own)
        slopes = moved.transpose(1, 2, 3, 0) / NUDGE  # (4, most, rows, 3)
        return _on_root(seen, tables), [slopes[leg, : each.size] for leg, each in enumerate(own)]

    def toes_and_levers(self, table: Array, is_near: Bools) -> tuple[Array, Array]:
        """Follow the toes, and find how far one unit of each channel can move some of them.

        Parameters
        ----------
        table
            (rows, channels) of the file.
        is_near
            (rows, 4) toes that count.

        Returns
        -------
        toes
            (rows, 4, 3)
        levers
            (rows, channels) distance of the toe from the joint, times a degree; zero where no toe that
            counts hangs from the joint. [unit of the file per unit of the channel]
        """
        tables = np.broadcast_to(table, (self.chains.shape[1], *table.shape))
        seen = self._seen(tables)
        distance = np.linalg.norm(seen, axis=1)  # (depth, 4, rows)
        of_joints = np.zeros((len(self.offsets), table.shape[0]))
        np.maximum.at(of_joints, self.chains, distance * is_near.T)
        turning = np.repeat(np.radians(of_joints[:-1]), 3, axis=0)  # three rotations a joint
        moving = np.repeat(is_near.T.any(axis=0, keepdims=True), 3, axis=0)  # three positions of the root
        return _on_root(seen, tables), np.concatenate([moving, turning]).T

    def _seen(self, tables: Array) -> Array:
        """Follow the toes, each through rows of its own, as seen from the joints of its chain.

        (4, rows, channels) to (depth, 3, 4, rows).
        """
        return self._followed(tables, [])[0]

    def _followed(self, tables: Array, own: list[Ints]) -> tuple[Array, Array]:
        """Follow the toes as `_seen` and what nudges of some channels of each leg move them by.

        The toe turns with the foot, is moved by the foot's offset, turns with the joint above, and so on
        up to the root: no joint needs to know how the ones above it are turned.

        Returns
        -------
        seen
            (depth, 3, 4, rows)
        moved
            (3, 4, most channels of a leg, rows) as seen from the root.
        """
        feet, rows, channels = tables.shape
        channel = 3 + 3 * self.chains[:, None] + np.arange(3)[:, None]  # (depth, 3, 4)
        angles = tables[np.arange(feet), :, np.minimum(channel, channels - 1)]
        angles = np.radians(np.where((channel < channels)[..., None], angles, 0.0))  # (depth, 3, 4, rows)
        turns: Bools = np.any(angles, axis=3)  # most joints of a leg turn about one axis alone
        cos, sin = cos_sin(angles)
        any_turns = np.asarray(turns.any(axis=2)).tolist()
        nudged, nudge = _nudged(channel, own), math.radians(NUDGE)
        less, more = math.cos(nudge) - 1.0, math.sin(nudge)
        seen = np.empty((len(self.chains), 3, feet, rows))
        # The toe of each leg, and after it what nudges move it by: (3, 4, 1 + most channels of a leg, rows).
        places = np.zeros((3, feet, 1 + max((each.size for each in own), default=0), rows))
        toe = places[:, :, 0]
        toe += self.tips.T[:, :, None]
        axes = ["XYZ".index(letter) for letter in self.rotation_order]
        planes = [(turn, (axes[turn] + 1) % 3, (axes[turn] + 2) % 3) for turn in (2, 1, 0)]
        for depth, joint in enumerate(self.chains):  # over the tree, not over rows
            for turn, a, b in planes:  # the last rotation of a joint turns first
                here = nudged.get((depth, turn), [])
                if not (any_turns[depth][turn] or here):
                    continue
                c, s = cos[depth, turn, :, None], sin[depth, turn, :, None]  # (4, 1, rows)
                places[a], places[b] = c * places[a] - s * places[b], s * places[a] + c * places[b]
                if here:  # a nudge turns the toe a little farther
                    more_a, more_b = less * toe[a] - more * toe[b], more * toe[a] + less * toe[b]
                for leg, place in here:
                    places[a, leg, 1 + place], places[b, leg, 1 + place] = more_a[leg], more_b[leg]
            seen[depth] = toe
            toe += self.offsets[joint].T[:, :, None]
        return seen, places[:, :, 1:]


def _nudged(channel: Ints, own: list[Ints]) -> dict[tuple[int, int], list[tuple[int, int]]]:
    """Find at which depth and turn, of (depth, 3, 4) channels, which of a leg's own channels are."""
    found: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for leg, each in enumerate(own):
        depth, turn, place = np.nonzero(channel[:, :, leg, None] == each)
        for where in zip(depth.tolist(), turn.tolist(), place.tolist(), strict=True):
            found.setdefault(where[:2], []).append((leg, where[2]))
    return found


def _on_root(seen: Array, tables: Array) -> Array:
    """Add the position of the root to the toes as seen from it."""
    return np.asarray(seen[-1].transpose(2, 1, 0) + tables[..., :3].swapaxes(0, 1))


def feet_of(skeleton: Animal, space: FileSpace) -> Feet:
    """Find the chains of joints that carry the toes."""
    order = depth_first(skeleton)
    feet = [limb.foot_joint for limb in skeleton.limbs]
    place = {joint: k for k, joint in enumerate(order)} | {-1: -1}
    above = [place[int(skeleton.parents[joint])] for joint in order]
    chains = []
    for foot in feet:
        chain = [place[foot]]
        while above[chain[-1]] >= 0:
            chain.append(above[chain[-1]])
        chains.append(chain)
    depth = max(len(chain) for chain in chains)
    padded = [[len(order)] * (depth - len(chain)) + chain for chain in chains]
    offsets = np.zeros((len(order) + 1, 3))
    offsets[1:-1] = space.positions_to_file(skeleton.offsets_m[list(order[1:])])
    tips = space.positions_to_file(skeleton.tips_m[feet])
    return Feet(space.rotation_order, np.array(padded).T, offsets, tips)
