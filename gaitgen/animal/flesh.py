"""The animal's volume: chains of balls fixed to joints, joined to tapered capsules, and four feet.

A chain is a bone, or a group of the skeleton's outline; the balls of a group move with their joints, and
a smooth curve through them gives the capsules, so that the flesh bends with the joints without corners.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import LIMBS, Animal

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# A flap hangs beside the head: a broad ear.
LAYERS = (*LIMBS, "tail", "trunk", "mane", "head", "flap", "marks")
PIECES = 4

Ball = tuple[int, Array, float]  # joint, place from the joint, standing, radius


@dataclass(frozen=True)
class Chain:
    """Balls joined one to the next.

    Attributes
    ----------
    name
        Name of the bone, or of the group of the outline.
    layer
        Index into LAYERS.
    is_upper
        Whether it is a part of a limb that lies on the trunk: shoulder, arm, thigh.
    has_line
        Whether its edge is seen where it lies on the trunk; without one it passes into what is under it.
    is_bone
        Whether it is a bone of a limb, not a group of the outline.
    balls
        Joint, place from the joint (3,) [m], radius [m] of each.
    """

    name: str
    layer: int
    is_upper: bool
    has_line: bool
    is_bone: bool
    balls: tuple[Ball, ...]


@dataclass(frozen=True, eq=False)
class Body:
    """All capsules of an animal.

    Attributes
    ----------
    joints
        (balls,) joint that each ball is fixed to.
    offsets_m
        (balls, 3) ball from its joint, standing. [m]
    blend
        (capsules, 2, balls) share of each ball in each end of a capsule; shares of an end sum to 1.
    radii_m
        (capsules, 2) radius at each end. [m]
    layers
        (capsules,) index into LAYERS.
    is_upper
        (capsules,) whether a capsule of a limb lies on the trunk.
    has_line
        (capsules,) whether its edge is seen there.
    is_bone
        (capsules,) whether it is a bone of a limb.
    chains
        (capsules,) number of the chain that each is a part of.
    names
        (capsules,) bone or group of each capsule.
    feet
        Joint and corners (8, 3) from the joint, sole first, of each foot in LIMBS order. [m]
    is_horn
        Whether each foot is of horn, in LIMBS order.
    """

    joints: Ints
    offsets_m: Array
    blend: Array
    radii_m: Array
    layers: Ints
    is_upper: npt.NDArray[np.bool_]
    has_line: npt.NDArray[np.bool_]
    is_bone: npt.NDArray[np.bool_]
    chains: Ints
    names: tuple[str, ...]
    feet: tuple[tuple[int, Array], ...]
    is_horn: tuple[bool, ...]

    def __post_init__(self) -> None:
        """Lock the arrays."""
        for array in (self.joints, self.offsets_m, self.blend, self.radii_m, self.layers):
            array.setflags(write=False)

    def layer(self, name: str) -> npt.NDArray[np.bool_]:
        """Return which capsules are in a layer."""
        return np.asarray(self.layers == LAYERS.index(name))

    def limbs(self, names: Sequence[str]) -> npt.NDArray[np.bool_]:
        """Return which capsules are a part of some limbs."""
        return np.isin(self.layers, [LAYERS.index(name) for name in names])


@lru_cache(maxsize=32)
def chains_of(skeleton: Animal) -> tuple[Chain, ...]:
    """List the chains of an animal: limb bones, then the outline, whose left groups are mirrored."""
    chains = []
    for number, limb in enumerate(skeleton.limbs):
        for place, joint in enumerate(limb.joints[:-1]):
            radius = skeleton.radii_m[joint]
            balls = ((joint, np.zeros(3), radius[0]), (joint, skeleton.tips_m[joint], radius[1]))
            on_trunk = place < limb.on_trunk
            chains.append(Chain(skeleton.joint_names[joint], number, on_trunk, not on_trunk, True, balls))
    chains.sort(key=lambda chain: chain.balls[0][0])
    layers, uppers = _layer_of_joints(skeleton)
    for group, rows in groupby(skeleton.outline, key=lambda ball: ball[3]):
        balls_here = list(rows)
        is_paired = any(ball[0].endswith("_L") for ball in balls_here)
        sides = ("_L", "_R") if is_paired else ("_L",)
        chains += [_outline_chain(skeleton, group, balls_here, side, layers, uppers) for side in sides]
    return tuple(chains)


def _layer_of_joints(skeleton: Animal) -> tuple[dict[int, int], set[int]]:
    """Layer of every joint of a limb or of the head, and the joints that lie on the trunk."""
    layers = {row: number for number, limb in enumerate(skeleton.limbs) for row in limb.joints}
    if skeleton.head is not None:
        layers |= dict.fromkeys(skeleton.below(skeleton.head), LAYERS.index("head"))
    uppers = {row for limb in skeleton.limbs for row in limb.joints[: limb.on_trunk]}
    return layers, uppers | {0}


def _outline_chain(
    skeleton: Animal,
    group: str,
    balls: Sequence[tuple[str, tuple[float, float, float], float, str]],
    side: str,
    layers: Mapping[int, int],
    uppers: set[int],
) -> Chain:
    mirror = np.array([1.0, -1.0 if side == "_R" else 1.0, 1.0])
    names = [name.removesuffix("_L") + side if name.endswith("_L") else name for name, *_ in balls]
    rows = [skeleton.joint(name) for name in names]
    limb = next((layer for row in rows if (layer := layers.get(row, len(LIMBS))) < len(LIMBS)), None)
    at_head = all(layers.get(row) == LAYERS.index("head") for row in rows)
    layer = LAYERS.index(skeleton.outline_layers.get(group, "head" if at_head else "trunk"))
    return Chain(
        name=group,
        layer=layer if limb is None else limb,
        is_upper=limb is not None and bool(set(rows) & uppers),
        has_line=group not in skeleton.look.merged,
        is_bone=False,
        balls=tuple(
            (row, np.array(offset) * mirror, radius)
            for row, (_, offset, radius, _) in zip(rows, balls, strict=True)
        ),
    )


@lru_cache(maxsize=32)
def body_of(skeleton: Animal, pieces: int = PIECES) -> Body:
    """Build the capsules of an animal from its bones, outline and feet.

    ``pieces`` is the number of capsules from one ball to the next of a curved chain.
    """
    chains = chains_of(skeleton)
    balls = [ball for chain in chains for ball in chain.balls]
    radii = np.array([radius for _, _, radius in balls])
    blends, owner, first = [], [], 0
    for number, chain in enumerate(chains):
        points = smooth_shares(len(chain.balls), pieces)
        wide = np.zeros((len(points), len(balls)))
        wide[:, first : first + len(chain.balls)] = points
        blends.append(np.stack([wide[:-1], wide[1:]], axis=1) if len(points) > 1 else wide[[0, 0]][None])
        owner += [number] * len(blends[-1])
        first += len(chain.balls)
    blend = np.concatenate(blends)
    return Body(
        joints=np.array([joint for joint, _, _ in balls]),
        offsets_m=np.array([offset for _, offset, _ in balls]),
        blend=blend,
        radii_m=np.maximum(blend @ radii, 1e-3),
        layers=np.array([chains[k].layer for k in owner]),
        is_upper=np.array([chains[k].is_upper for k in owner]),
        has_line=np.array([chains[k].has_line for k in owner]),
        is_bone=np.array([chains[k].is_bone for k in owner]),
        chains=np.array(owner),
        names=tuple(chains[k].name for k in owner),
        feet=tuple(_foot(skeleton, limb) for limb in range(len(LIMBS))),
        is_horn=tuple(limb.foot.is_horn for limb in skeleton.limbs),
    )


def smooth_shares(balls: int, pieces: int = PIECES) -> Array:
    """Share of each ball in the points of a smooth curve through all of them: (points, balls).

    Cubic pieces whose slope at a ball is half the way from the ball before to the ball after. Two balls
    are joined by a straight line.
    """
    own = np.eye(balls)
    if balls < 3:
        return own
    slope = np.asarray(np.gradient(own, axis=0), dtype=np.float64)
    t = (np.arange(pieces) / pieces)[None, :, None]
    start, end = own[:-1, None], own[1:, None]
    curves = (
        (1.0 + 2.0 * t) * (1.0 - t) ** 2 * start
        + t * (1.0 - t) ** 2 * slope[:-1, None]
        + t**2 * (3.0 - 2.0 * t) * end
        - t**2 * (1.0 - t) * slope[1:, None]
    )
    return np.concatenate([curves.reshape(-1, balls), own[-1:]])


def _foot(skeleton: Animal, limb: int) -> tuple[int, Array]:
    """Corners of one foot, sole first, then its top."""
    foot = skeleton.limbs[limb].foot
    low, width = -foot.height_m, 0.9 * foot.half_width_m
    sole = [[x, y, low] for x in (foot.toe_m, -foot.heel_m) for y in (width, -width)]
    up, ahead, behind, aside = foot.rim_m
    rim = [[x, y, low + up] for x in (ahead, -behind) for y in (aside, -aside)]
    return skeleton.limbs[limb].foot_joint, np.array(sole + rim)
