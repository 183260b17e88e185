"""The container of glTF 2.0 (Khronos, ISO/IEC 12113:2022): a skinned figure of named joints that moves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.formats.skin import Skin
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import continuous_sign

Array = npt.NDArray[np.float64]

# Component types and buffer targets of the specification.
_COMPONENT = {"uint8": 5121, "uint16": 5123, "uint32": 5125, "float32": 5126}
_KIND = {(): "SCALAR", (3,): "VEC3", (4,): "VEC4", (4, 4): "MAT4"}
_VERTICES, _INDICES = 34962, 34963
_ROUGHNESS = 0.9
_DECIMALS = 9  # of numbers: nanometres, and less of a turn than single precision has


@dataclass(frozen=True, eq=False)
class Figure:
    """What is written, all of it in metres and in the axes of the format: y up.

    Attributes
    ----------
    title, name
        Name of the scene, and of its animation.
    joint_names, parents
        Root first, and (joints,) index of the joint above, -1 for the root.
    offsets_m
        (joints, 3) each joint from the one above, standing, in that one's frame. [m]
    standing
        (joints, 4) local rotations standing, wxyz, or None if there are none.
    binding
        (joints, 4, 4) from the standing figure into each joint, columns first.
    skin
        The mesh, standing.
    colour
        Of the skin, ``#rrggbb``.
    turns
        (frames, joints, 4) local rotations, wxyz.
    paths_m
        By joint: (frames, 3) its place in the frame of the joint above. [m]
    clip
        What frame rate and key poses are of.
    """

    title: str
    name: str
    joint_names: tuple[str, ...]
    parents: npt.NDArray[np.int64]
    offsets_m: Array
    standing: Array | None
    binding: Array
    skin: Skin
    colour: str
    turns: Array
    paths_m: Mapping[int, Array]
    clip: Motion


class _Store:
    """The binary part: arrays one behind the other, each on a multiple of four bytes."""

    def __init__(self) -> None:
        self.blob = b""
        self.views: list[dict[str, int]] = []
        self.accessors: list[dict[str, object]] = []

    def add(self, array: npt.NDArray[np.generic], target: int | None = None, **extra: object) -> int:
        """Append an array (count, ...) and return its accessor; float64 is written as float32."""
        values = np.ascontiguousarray(_single(array) if array.dtype == np.float64 else array)
        data = values.tobytes()
        view = {"buffer": 0, "byteOffset": len(self.blob), "byteLength": len(data)}
        self.views.append(view if target is None else {**view, "target": target})
        self.blob += data + bytes(-len(data) % 4)
        self.accessors.append(
            {
                "bufferView": len(self.views) - 1,
                "componentType": _COMPONENT[values.dtype.name],
                "count": len(values),
                "type": _KIND[values.shape[1:]],
                **extra,
            }
        )
        return len(self.accessors) - 1

    def add_with_limits(self, array: Array, target: int | None = None) -> int:
        """Append an array (count,) or (count, 3) with the least and greatest of what is written."""
        rows = _single(array).reshape(len(array), -1)
        least, greatest = rows.min(axis=0), rows.max(axis=0)
        return self.add(array, target, min=least.tolist(), max=greatest.tolist())


def _single(array: npt.NDArray[np.generic]) -> npt.NDArray[np.float32]:
    """Turn into single precision, without the digits in which one processor differs from another."""
    return np.asarray(np.round(array.astype(np.float64), _DECIMALS) + 0.0).astype("<f4")


def encode_figure(made: Figure) -> bytes:
    """Write a figure with one animation, rotations and paths keyed on every frame and played linearly.

    The animation's ``extras`` hold ``frame_rate_hz`` and ``key_poses``: ``frame``, ``time_s`` and ``name``.
    """
    import pygltflib

    store, joints = _Store(), len(made.joint_names)
    attributes, triangles = _primitive(store, made.skin, joints)
    binding = store.add(made.binding)
    samplers, channels = _tracks(store, made)
    figure = pygltflib.GLTF2(
        asset=pygltflib.Asset(version="2.0", generator="gaitgen"),
        scene=0,
        scenes=[pygltflib.Scene(name=made.title, nodes=[0, joints])],  # the node behind the joints
        nodes=[
            *(pygltflib.Node(**node) for node in _nodes(made)),
            pygltflib.Node(name=f"{made.title} figure", mesh=0, skin=0),
        ],
        meshes=[
            pygltflib.Mesh(
                name="figure",
                primitives=[
                    pygltflib.Primitive(
                        attributes=pygltflib.Attributes(**attributes),
                        indices=triangles,
                        material=0,
                    )
                ],
            )
        ],
        materials=[
            pygltflib.Material(
                name="skin",
                pbrMetallicRoughness=pygltflib.PbrMetallicRoughness(
                    baseColorFactor=_linear(made.colour), metallicFactor=0.0, roughnessFactor=_ROUGHNESS
                ),
            )
        ],
        skins=[pygltflib.Skin(inverseBindMatrices=binding, skeleton=0, joints=list(range(joints)))],
        animations=[
            pygltflib.Animation(
                name=made.name,
                samplers=[pygltflib.AnimationSampler(**sampler) for sampler in samplers],
                channels=[
                    pygltflib.AnimationChannel(
                        sampler=number, target=pygltflib.AnimationChannelTarget(node=node, path=path)
                    )
                    for number, (node, path) in enumerate(channels)
                ],
                extras=_extras(made.clip),
            )
        ],
        accessors=[pygltflib.Accessor(**accessor) for accessor in store.accessors],
        bufferViews=[pygltflib.BufferView(**view) for view in store.views],
        buffers=[pygltflib.Buffer(byteLength=len(store.blob))],
    )
    figure.set_binary_blob(store.blob)
    return b"".join(figure.save_to_bytes())


def _linear(colour: str) -> list[float]:
    """Turn ``#rrggbb`` into the linear colour of the format and full opacity (IEC 61966-2-1)."""
    shown = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0
    linear = np.where(shown <= 0.04045, shown / 12.92, ((shown + 0.055) / 1.055) ** 2.4)
    return [*np.round(linear, 4).tolist(), 1.0]


def _nodes(made: Figure) -> list[dict[str, object]]:
    """Lay out the joints, standing."""
    nodes: list[dict[str, object]] = []
    for joint, name in enumerate(made.joint_names):
        children = np.flatnonzero(made.parents == joint).tolist()
        node: dict[str, object] = {"name": name, "translation": _plain(made.offsets_m[joint])}
        if made.standing is not None:
            node["rotation"] = (np.round(made.standing[joint, [1, 2, 3, 0]], _DECIMALS) + 0.0).tolist()
        nodes.append({**node, "children": children})
    return nodes


def _plain(values: Array) -> list[float]:
    """Round to a micrometre, without minus zero."""
    return [round(float(value), 6) + 0.0 for value in values]


def _primitive(store: _Store, skin: Skin, joints: int) -> tuple[dict[str, int], int]:
    """Store the mesh; return the accessors of its attributes and of its triangles."""
    count = len(skin.vertices_m)
    colour = np.stack([skin.tones, skin.tones, skin.tones, np.ones(count)], axis=1)
    attributes = {
        "POSITION": store.add_with_limits(skin.vertices_m, _VERTICES),
        "NORMAL": store.add(skin.normals, _VERTICES),
        "COLOR_0": store.add(np.round(255.0 * colour).astype(np.uint8), _VERTICES, normalized=True),
        "JOINTS_0": store.add(skin.joints.astype(np.uint8 if joints <= 256 else np.uint16), _VERTICES),
        "WEIGHTS_0": store.add(_whole_weights(skin.weights), _VERTICES, normalized=True),
    }
    index = skin.triangles.ravel().astype(np.uint16 if count < 65536 else np.uint32)
    return attributes, store.add(index, _INDICES)


def _whole_weights(weights: Array) -> npt.NDArray[np.uint8]:
    """Round weights (vertices, 4), greatest first, to 255ths that still add up to 1."""
    whole = np.round(255.0 * weights).astype(np.int64)
    whole[:, 0] += 255 - whole.sum(axis=1)
    return whole.astype(np.uint8)


def _tracks(store: _Store, made: Figure) -> tuple[list[dict[str, object]], list[tuple[int, str]]]:
    """Store the motion; return samplers, and node and path of the channel of each."""
    clip = made.clip
    times = store.add_with_limits(np.arange(clip.frames) / clip.frame_rate_hz)
    turns = continuous_sign(made.turns)[..., [1, 2, 3, 0]] + 0.0
    outputs = [store.add(path + 0.0) for path in made.paths_m.values()]
    outputs += [store.add(turns[:, joint]) for joint in range(turns.shape[1])]
    samplers: list[dict[str, object]] = [
        {"input": times, "output": output, "interpolation": "LINEAR"} for output in outputs
    ]
    paths = [(joint, "translation") for joint in made.paths_m]
    return samplers, [*paths, *((joint, "rotation") for joint in range(turns.shape[1]))]


def _extras(clip: Motion) -> dict[str, object]:
    poses = [
        {
            "frame": round(pose.frame, 6),
            "time_s": round((pose.frame - 1.0) / clip.frame_rate_hz, 6),
            "name": pose.name,
        }
        for pose in clip.key_poses
    ]
    return {"frame_rate_hz": clip.frame_rate_hz, "key_poses": poses}
