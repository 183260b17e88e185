"""From edited keys back to a clip: the splines are played on the joints of the BVH that they belong to."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.animal.toml_table import no_file
from gaitgen.errors import FileFormatError, Notice, RequestError
from gaitgen.formats.bvh_file import BvhFile
from gaitgen.formats.bvh_tree import shown
from gaitgen.formats.channels import with_frames
from gaitgen.formats.decimals import table_text
from gaitgen.formats.keys import quoted
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.read_keys import Curve, length_frames, read_keys
from gaitgen.numerics.standard_input import is_standard_input, standard_input

Array = npt.NDArray[np.float64]

KEYS_END, CONTROLS_END = ".keys.csv", ".controls.keys.csv"
MOST_SHOWN = 6
SMALL = 5e-4  # a change that the report leaves out; in the unit of the channel
_MOTION = re.compile(rb"^[ \t]*MOTION[ \t\r]*$", re.IGNORECASE | re.MULTILINE)


@dataclass(frozen=True)
class Change:
    """How far one channel is from what the BVH had before: where, and by how much in its unit."""

    channel: str
    frame: int
    amount: float


@dataclass(frozen=True, eq=False)
class Baked:
    """A clip made from keys.

    Attributes
    ----------
    stem
        Name of the clip, without suffix.
    files
        End of each file's name to its contents.
    frames, before
        Length of the clip, and of the BVH that it was baked on. [frames]
    changes
        Channels that differ from that BVH, the most changed first.
    notices
        What was left as it was.
    """

    stem: str
    files: dict[str, bytes]
    frames: int
    before: int
    changes: tuple[Change, ...]
    notices: tuple[Notice, ...]

    def text(self) -> str:
        """Say what the keys changed."""
        lines = [
            f"{self.stem}: {self.frames} frame{'s' * (self.frames != 1)} from keys, {self.before} before"
        ]
        if self.changes:
            lines.append("  the channels that changed most, and the frame where they did:")
            lines += [f"    {c.channel:<32}{c.amount:10.3f}  at {c.frame}" for c in self.changes[:MOST_SHOWN]]
            if len(self.changes) > MOST_SHOWN:
                lines.append(f"    and {len(self.changes) - MOST_SHOWN} more")
        else:
            lines.append("  no channel changed")
        lines += [f"  note: {notice.text}" for notice in self.notices]
        return "\n".join(lines) + "\n"


def stem_of(path: Path) -> str:
    """Name of the clip whose keys a file has.

    Raises
    ------
    RequestError
        If the name does not end like that of a file of keys.
    """
    if is_standard_input(path):
        raise RequestError("keys from the standard input have no BVH beside them; name it with --bvh")
    for end in (CONTROLS_END, KEYS_END):
        if path.name.lower().endswith(end) and len(path.name) > len(end):
            return path.name[: -len(end)]
    raise RequestError(f"{path} does not end in {KEYS_END}; give the keys of a clip, NAME{KEYS_END}")


def bake(path: Path, bvh: Path | None = None) -> Baked:
    """Make BVH and channels from the keys of a clip, and control curves where their keys are there too.

    Parameters
    ----------
    path
        ``NAME.keys.csv``; or ``-``, the standard input, for keys of the BVH that is then to be named.
    bvh
        The BVH that says joints and frame rate; NAME.bvh beside the keys if not given. A channel without a
        key stays as it is in that file's first frame.

    Raises
    ------
    GaitgenError
        If a file cannot be read, or the keys have other channels than the BVH; one line.
    """
    stem = stem_of(path) if bvh is None or not is_standard_input(path) else bvh.stem
    bvh = path.with_name(f"{stem}.bvh") if bvh is None else bvh
    keys_path = path if is_standard_input(path) else path.with_name(f"{stem}{KEYS_END}")
    keys = _read(keys_path, "the keys")  # first, being what was named
    data = _read(bvh, "the BVH that says the joints; keep it beside the keys, or name it with --bvh")
    file = read_bvh(data, str(bvh))
    curves = read_keys(keys, str(keys_path))
    names = channel_names(file)
    _refuse_unknown(curves, names, keys_path, bvh)
    frames = length_frames(curves, str(keys_path))
    if not len(file.rows):
        raise FileFormatError(
            f"{bvh} has no frames; give a clip, whose first frame channels without keys take"
        )
    table = _played(curves, names, file.rows[0], frames)
    rows = table_text(table, names)
    rate = 1.0 / file.frame_time_s
    files = {
        ".bvh": _bvh(data, rows, frames, file.frame_time_s),
        ".channels.csv": with_frames([quoted(name) for name in names], rows, rate),
    }
    control_keys = path.with_name(f"{stem}{CONTROLS_END}")
    if control_keys.is_file() and not is_standard_input(path):
        files[".controls.csv"] = _controls(control_keys, frames, rate)
    bare = [name for name in names if name not in curves]
    notices = []
    if bare:
        some = ", ".join(bare[:3]) + (f" and {len(bare) - 3} more" if len(bare) > 3 else "")
        notices.append(Notice("still", f"without a key, and so as in frame 1 of {bvh.name}: {some}."))
    return Baked(stem, files, frames, len(file.rows), _changes(table, file.rows, names), tuple(notices))


def channel_names(file: BvhFile) -> tuple[str, ...]:
    """Name the channels of a BVH as keys have them, ``joint.Zrotation``, in the order of the file."""
    return tuple(
        f"{joint}.{word}"
        for joint, words in zip(file.joint_names, file.channels, strict=True)
        for word in words
    )


def _read(path: Path, what: str) -> bytes:
    if is_standard_input(path):
        return standard_input()
    try:
        if path.is_file():
            return path.read_bytes()
        reason = f"it {no_file(path)}" if path.exists() else "there is no such file"
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or str(fault)
    raise FileFormatError(f"cannot read {str(path)!r}: {reason}; it should be {what}")


def _refuse_unknown(curves: Mapping[str, Curve], names: tuple[str, ...], keys: Path, bvh: Path) -> None:
    known = set(names)
    strange = [name for name in curves if name not in known]
    if strange:
        raise FileFormatError(
            f"{keys} has keys of {shown(strange[0])}"
            + (f" and {len(strange) - 1} more channels" if len(strange) > 1 else "")
            + f", which {bvh} does not have; use the names of its joints, such as {names[0]}"
        )


def _played(curves: Mapping[str, Curve], names: tuple[str, ...], still: Array, frames: int) -> Array:
    at = np.arange(1.0, frames + 1.0)
    columns = [
        curves[name].at(at) if name in curves else np.full(frames, value)
        for name, value in zip(names, still, strict=True)
    ]
    return np.stack(columns, axis=1)


def _bvh(data: bytes, rows: bytes, frames: int, frame_time_s: float) -> bytes:
    """Put new rows under the joints of a file, which stay as they are, byte for byte."""
    found = _MOTION.search(data)
    head = data[: found.start()] if found else data
    motion = f"MOTION\nFrames: {frames}\nFrame Time: {frame_time_s:.8f}\n".encode("ascii") + rows
    line_end = b"\r\n" if b"\r\n" in head else b"\n" if b"\n" in head else b"\r"
    return head + (motion if line_end == b"\n" else motion.replace(b"\n", line_end))


def _controls(path: Path, frames: int, rate: float) -> bytes:
    """Play the control curves, all channels of the file; a foot is planted or not."""
    curves = read_keys(_read(path, "the keys of the controls"), str(path))
    names = tuple(curves)
    table = _played(curves, names, np.zeros(len(names)), frames)
    planted = [k for k, name in enumerate(names) if name.endswith(".planted")]
    table[:, planted] = np.clip(np.rint(table[:, planted]), 0.0, 1.0)
    return with_frames([quoted(name) for name in names], table_text(table, names), rate)


def _changes(table: Array, before: Array, names: tuple[str, ...]) -> tuple[Change, ...]:
    rows = min(len(table), len(before))
    apart = np.abs(table[:rows] - before[:rows])
    frame = apart.argmax(axis=0)
    changes = [
        Change(name, int(row) + 1, float(apart[row, k]))
        for k, (name, row) in enumerate(zip(names, frame, strict=True))
        if apart[row, k] > SMALL
    ]
    return tuple(sorted(changes, key=lambda change: -change.amount))
