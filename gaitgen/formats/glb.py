"""Writes glTF 2.0 in its binary container (Khronos, ISO/IEC 12113:2022): metres, y up, facing +z."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.errors import FileFormatError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.skin import Skin, skin_of
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import continuous_sign

Array = npt.NDArray[np.float64]

SPACE = FileSpace("m", "y")
# Component types and buffer targets of the specification.
_COMPONENT = {"uint8": 5121, "uint16": 5123, "uint32": 5125, "float32": 5126}
_KIND = {(): "SCALAR", (3,): "VEC3", (4,): "VEC4", (4, 4): "MAT4"}
_VERTICES, _INDICES = 34962, 34963
_ROUGHNESS = 0.9
_DECIMALS = 9  # of numbers: nanometres, and less of a turn than single precision has


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


def encode(clip: Motion, name: str = "motion") -> bytes:
    """Write a clip as a skinned figure with one animation.

    Nodes are named as the joints and stand as the animal does; the skin is the animal's flesh. Rotations
    and the root's path are keyed on every frame, the last one included, and meant to be played linearly.
    The animation's ``extras`` hold ``frame_rate_hz`` and ``key_poses``: ``frame``, ``time_s`` and ``name``.

    Parameters
    ----------
    clip
        The motion.
    name
        Name of the animation.

    Returns
    -------
    bytes
        The whole file; the same clip always gives the same bytes.

    Raises
    ------
    FileFormatError
        If a number of the clip is not finite.
    """
    import pygltflib

    _refuse_unusable(clip)
    animal, store = clip.animal, _Store()
    skin = skin_of(animal)
    attributes, triangles = _primitive(store, skin, len(animal.joint_names))
    binding = store.add(_inverse_bind(animal))
    samplers, channels = _tracks(store, clip)
    figure = len(animal.joint_names)  # the node behind the joints
    made = pygltflib.GLTF2(
        asset=pygltflib.Asset(version="2.0", generator="gaitgen"),
        scene=0,
        scenes=[pygltflib.Scene(name=animal.name, nodes=[0, figure])],
        nodes=[
            *(pygltflib.Node(**node) for node in _nodes(animal)),
            pygltflib.Node(name=f"{animal.name} figure", mesh=0, skin=0),
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
                    baseColorFactor=_linear(animal.look.skin), metallicFactor=0.0, roughnessFactor=_ROUGHNESS
                ),
            )
        ],
        skins=[pygltflib.Skin(inverseBindMatrices=binding, skeleton=0, joints=list(range(figure)))],
        animations=[
            pygltflib.Animation(
                name=name,
                samplers=[pygltflib.AnimationSampler(**sampler) for sampler in samplers],
                channels=[
                    pygltflib.AnimationChannel(
                        sampler=number, target=pygltflib.AnimationChannelTarget(node=node, path=path)
                    )
                    for number, (node, path) in enumerate(channels)
                ],
                extras=_extras(clip),
            )
        ],
        accessors=[pygltflib.Accessor(**accessor) for accessor in store.accessors],
        bufferViews=[pygltflib.BufferView(**view) for view in store.views],
        buffers=[pygltflib.Buffer(byteLength=len(store.blob))],
    )
    made.set_binary_blob(store.blob)
    return b"".join(made.save_to_bytes())


def _linear(colour: str) -> list[float]:
    """Turn ``#rrggbb`` into the linear colour of the format and full opacity (IEC 61966-2-1)."""
    shown = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0
    linear = np.where(shown <= 0.04045, shown / 12.92, ((shown + 0.055) / 1.055) ** 2.4)
    return [*np.round(linear, 4).tolist(), 1.0]


def _refuse_unusable(clip: Motion) -> None:
    for what, values in (("rotations", clip.rotations), ("root path", clip.root_path_m)):
        bad = ~np.isfinite(values).reshape(clip.frames, -1).all(axis=1)
        if bad.any():
            frame = int(np.argmax(bad)) + 1
            raise FileFormatError(
                f"the {what} of frame {frame} has a number that is not finite; mend the clip"
            )


def _nodes(animal: Animal) -> list[dict[str, object]]:
    """Lay out the joints, standing; their frames are the world's then, so there is no rotation."""
    offsets = SPACE.positions_to_file(animal.offsets_m)
    nodes: list[dict[str, object]] = []
    for joint, name in enumerate(animal.joint_names):
        children = np.flatnonzero(animal.parents == joint).tolist()
        nodes.append({"name": name, "translation": _plain(offsets[joint]), "children": children})
    return nodes


def _plain(values: Array) -> list[float]:
    """Round to a micrometre, without minus zero."""
    return [round(float(value), 6) + 0.0 for value in values]


def _inverse_bind(animal: Animal) -> Array:
    """Return the matrices (joints, 4, 4) that take the standing figure into each joint, columns first."""
    matrices = np.tile(np.eye(4), (len(animal.joint_names), 1, 1))
    matrices[:, 3, :3] = 0.0 - SPACE.positions_to_file(standing_positions_m(animal))
    return matrices


def _primitive(store: _Store, skin: Skin, joints: int) -> tuple[dict[str, int], int]:
    """Store the mesh; return the accessors of its attributes and of its triangles."""
    count = len(skin.vertices_m)
    colour = np.stack([skin.tones, skin.tones, skin.tones, np.ones(count)], axis=1)
    attributes = {
        "POSITION": store.add_with_limits(SPACE.positions_to_file(skin.vertices_m), _VERTICES),
        "NORMAL": store.add(SPACE.positions_to_file(skin.normals), _VERTICES),
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


def _tracks(store: _Store, clip: Motion) -> tuple[list[dict[str, object]], list[tuple[int, str]]]:
    """Store the motion; return samplers, and node and path of the channel of each."""
    times = store.add_with_limits(np.arange(clip.frames) / clip.frame_rate_hz)
    turns = continuous_sign(clip.rotations)[..., [2, 3, 1, 0]] + 0.0  # y, z, x of ours, then w
    outputs = [store.add(SPACE.positions_to_file(clip.root_path_m) + 0.0)]
    outputs += [store.add(turns[:, joint]) for joint in range(turns.shape[1])]
    samplers: list[dict[str, object]] = [
        {"input": times, "output": output, "interpolation": "LINEAR"} for output in outputs
    ]
    return samplers, [(0, "translation"), *((joint, "rotation") for joint in range(turns.shape[1]))]


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
