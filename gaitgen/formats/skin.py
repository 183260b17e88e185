"""A skin for the animal: its capsules and feet as one mesh of triangles, bound to the joints."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.flesh import LAYERS, Body
from gaitgen.formats.foot_mesh import foot_mesh
from gaitgen.formats.round_mesh import round_mesh
from gaitgen.motion.flesh import standing

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# Capsules from ball to ball of a curved chain.
PIECES = 2
# A vertex is left out where it is this deep inside another capsule, as a share of its radius and of the
# withers height: more than facets cut off of one.
HIDDEN_SHARE, HIDDEN_WITHERS = 0.02, 0.000625
# ... and only if the other one moves with it: at most this share of their weights differs.
HIDDEN_WEIGHT = 0.15
# Length over which the light passes over from one part to the next, as a share of the withers height.
CREASE_WITHERS = 0.0075
# Grey of hair, feet of horn, eyes and nostrils against the body's.
TONES = {"mane": 0.42, "tail": 0.42, "marks": 0.08}
HORN_TONE = 0.28
# Length of a facet, as a share of the withers height.
FACET_WITHERS = 0.02125
# Where one ball is inside the other the cone around both would be flat: it leans no farther (sine).
MOST_LEAN = 0.999


@dataclass(frozen=True, eq=False)
class Skin:
    """One mesh of triangles, standing, and how it hangs on the joints.

    Attributes
    ----------
    vertices_m
        (vertices, 3) places in the standing pose; x forward, y left, z up. [m]
    normals
        (vertices, 3) unit vectors outward.
    tones
        (vertices,) grey against the body's, 0 to 1.
    joints
        (vertices, 4) the joints that carry each vertex; 0 where the weight is 0.
    weights
        (vertices, 4) share of each of the four; they add up to 1.
    triangles
        (triangles, 3) vertices, counter-clockwise from outside.
    """

    vertices_m: Array
    normals: Array
    tones: Array
    joints: Ints
    weights: Array
    triangles: Ints


@lru_cache(maxsize=2)
def skin_of(skeleton: Animal) -> Skin:
    """Build the skin of an animal; kept for its next clip.

    An end of a capsule hangs on the joints of its balls by the balls' shares in it, and a ring of vertices
    on both ends by its place along the axis. The shares come from a smooth curve through the balls, so
    the weights have no corners at joints; a ball that belongs to one joint keeps its shape.
    """
    posed = standing(skeleton, PIECES)
    body, ends = posed.body, _raised_marks(posed.body, posed.ends_m[0])
    held = _end_weights(body, len(skeleton.joint_names))
    size_m = skeleton.withers_height_m
    parts = [_capsule(ends[k], body, held[k], k, size_m) for k in range(len(ends))]
    visible = _dressed(_joined(parts), body, ends, held, size_m)
    feet = [
        _foot(corners, joint, HORN_TONE if is_horn else 1.0)
        for corners, (joint, _), is_horn in zip(posed.feet_m[0], body.feet, body.is_horn, strict=True)
    ]
    skin = _joined([visible, *feet])
    for field in fields(Skin):
        getattr(skin, field.name).setflags(write=False)
    return skin


def _raised_marks(body: Body, ends_m: Array) -> Array:
    """Move eyes and nostrils (capsules, 2, 3) out to the surface of the flesh that they lie in."""
    is_mark = body.layers == LAYERS.index("marks")
    raised = ends_m.copy()
    points = ends_m[is_mark].reshape(-1, 3)
    if not len(points):
        return raised
    flesh = [_depth_in(points, ends_m[k], body.radii_m[k]) for k in np.flatnonzero(~is_mark)]
    depths = np.stack([depth for depth, _, _ in flesh])  # (capsules, points)
    deepest, each = depths.argmax(axis=0), np.arange(len(points))
    outward = np.stack([out for _, _, out in flesh])[deepest, each]
    rise = np.maximum(depths[deepest, each], 0.0)[:, None] * outward
    raised[is_mark] += rise.reshape(-1, 2, 3)
    return raised


def _end_weights(body: Body, joints: int) -> Array:
    """Share of each joint in each end of each capsule, (capsules, 2, joints), never negative."""
    shares = np.zeros((*body.blend.shape[:2], joints))
    np.add.at(np.moveaxis(shares, 2, 0), body.joints, np.moveaxis(body.blend, 2, 0))
    shares = np.where(shares < 1e-9, 0.0, shares)
    return np.asarray(shares / shares.sum(axis=2, keepdims=True))


def _capsule(ends_m: Array, body: Body, held: Array, number: int, size_m: float) -> Skin:
    vertices, normals, along, triangles = round_mesh(ends_m, body.radii_m[number], FACET_WITHERS * size_m)
    joints, weights = four_greatest((1.0 - along[:, None]) * held[0] + along[:, None] * held[1])
    tone = TONES.get(LAYERS[body.layers[number]], 1.0)
    return Skin(vertices, normals, np.full(len(along), tone), joints, weights, triangles)


def four_greatest(shares: Array) -> tuple[Ints, Array]:
    """Keep the four greatest shares of each row (vertices, joints), in order, and make them add up to 1."""
    joints = np.argsort(-shares, axis=1, kind="stable")[:, :4]
    joints = np.pad(joints, ((0, 0), (0, 4 - joints.shape[1])))
    weights = np.take_along_axis(shares, joints, axis=1)
    weights[:, shares.shape[1] :] = 0.0
    return np.where(weights > 0.0, joints, 0), weights / weights.sum(axis=1, keepdims=True)


def _foot(corners_m: Array, joint: int, tone: float) -> Skin:
    vertices, normals, triangles = foot_mesh(corners_m)
    joints = np.tile([joint, 0, 0, 0], (len(vertices), 1))
    weights = np.tile([1.0, 0.0, 0.0, 0.0], (len(vertices), 1))
    return Skin(vertices, normals, np.full(len(vertices), tone), joints, weights, triangles)


def _joined(parts: list[Skin]) -> Skin:
    starts = np.cumsum([0, *(len(part.vertices_m) for part in parts[:-1])])
    columns = {f.name: [getattr(part, f.name) for part in parts] for f in fields(Skin)}
    columns["triangles"] = [t + start for t, start in zip(columns["triangles"], starts, strict=True)]
    return Skin(**{name: np.concatenate(column) for name, column in columns.items()})


def _dressed(skin: Skin, body: Body, ends_m: Array, held: Array, size_m: float) -> Skin:
    """Leave out the triangles inside capsules that move with them, and soften the creases between parts.

    Where the surface of a second capsule is near, the normal leans towards that one's, the more the nearer it
    is, so that light does not break where two parts meet. Hair, eyes and nostrils keep their own.
    """
    crease_m = CREASE_WITHERS * size_m
    axes = np.ascontiguousarray(skin.vertices_m.T)
    hidden = np.zeros(len(skin.vertices_m), dtype=np.bool_)
    normals = np.zeros_like(skin.normals)
    shares = np.zeros((len(hidden), held.shape[2]))
    for slot in range(4):
        shares[np.arange(len(hidden)), skin.joints[:, slot]] += skin.weights[:, slot]
    is_flesh = np.array([LAYERS[layer] not in TONES for layer in body.layers])
    for end, radius, weight, is_soft in zip(ends_m, body.radii_m, held, is_flesh, strict=True):
        reach = radius.max() + 3.0 * crease_m
        near = ~hidden
        for along_axis, low, high in zip(axes, end.min(axis=0) - reach, end.max(axis=0) + reach, strict=True):
            near &= (along_axis > low) & (along_axis < high)
        rows = np.flatnonzero(near)
        depth, along, outward = _depth_in(skin.vertices_m[rows], end, radius)
        there = (1.0 - along[:, None]) * weight[0] + along[:, None] * weight[1]
        moves_along = np.abs(shares[rows] - there).sum(axis=1) / 2.0 < HIDDEN_WEIGHT
        deep = HIDDEN_SHARE * (radius[0] + along * (radius[1] - radius[0])) + HIDDEN_WITHERS * size_m
        hidden[rows] = (depth > deep) & moves_along
        if is_soft:
            normals[rows] += _lean(depth / crease_m)[:, None] * outward
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    own = (skin.tones[:, None] != 1.0) | (length < 0.3)
    normals = np.where(own, skin.normals, normals / np.maximum(length, 0.3))
    return _shown(replace(skin, normals=normals), hidden)


def _lean(creases: Array) -> Array:
    """Weigh another capsule's normal by how deep a vertex lies in it: 1 on its surface, 0 far on both sides.

    The depth is in lengths of a crease. Just inside the weight is above 1, as such a vertex ends a triangle
    that comes out of that surface.
    """
    inside = np.clip(3.0 - creases / 2.0, 0.0, 1.0)
    return np.asarray(np.exp(np.minimum(creases, 1.0)) * inside)


def _shown(skin: Skin, hidden: Bools) -> Skin:
    """Keep the triangles with a vertex that is not hidden, and the vertices that they need."""
    triangles = skin.triangles[~hidden[skin.triangles].all(axis=1)]
    used, renumbered = np.unique(triangles, return_inverse=True)
    kept = {f.name: getattr(skin, f.name)[used] for f in fields(Skin) if f.name != "triangles"}
    return Skin(**kept, triangles=renumbered.reshape(triangles.shape))


def _depth_in(points_m: Array, ends_m: Array, radii_m: Array) -> tuple[Array, Array, Array]:
    """Measure points (points, 3) against one capsule.

    Returns
    -------
    depth_m
        (points,) how far inside its surface, negative outside. [m]
    along
        (points,) place along the axis of the ball they are deepest in, 0 to 1.
    outward
        (points, 3) unit vector from that ball's centre.
    """
    axis = ends_m[1] - ends_m[0]
    length = max(float(np.linalg.norm(axis)), 1e-9)
    from_start = points_m - ends_m[0]
    foot = from_start @ axis / length
    away = np.sqrt(np.maximum(np.sum(from_start**2, axis=1) - foot**2, 0.0))
    lean = float(np.clip((radii_m[0] - radii_m[1]) / length, -MOST_LEAN, MOST_LEAN))
    # A line from the point that leans as the cone's normals do meets the axis in that centre.
    along = np.clip((foot - away * lean / np.sqrt(1.0 - lean**2)) / length, 0.0, 1.0)
    distance = np.maximum(np.hypot(away, foot - along * length), 1e-9)
    outward = (from_start - along[:, None] * axis) / distance[:, None]
    return radii_m[0] + along * (radii_m[1] - radii_m[0]) - distance, along, outward
