"""What `gaitgen carry` does, without the printing: from a refined file to a carried clip and its report."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeVar

import numpy as np

from gaitgen.animal.sizes import Proportions
from gaitgen.course.contacts import contacts_text, parse_contacts, stretched
from gaitgen.edits.as_animal import animals_edit, carried_controls
from gaitgen.edits.carry import Carried, carry
from gaitgen.edits.carry_rig_file import edit_on, is_on, raised_m, refined_on, seam_notice, started_on
from gaitgen.edits.difference import Edit, difference
from gaitgen.edits.on_ground import ground_of, lowered
from gaitgen.edits.original import request_of
from gaitgen.edits.rig_edit import CarriedRig, carry_on_rig
from gaitgen.errors import Notice, RequestError
from gaitgen.formats import hand_off as hand_off_files
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import rotation_letters
from gaitgen.formats.read_bvh import read_bvh, read_bvh_bytes
from gaitgen.formats.units import METRES_PER_UNIT
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.motion.motion import Motion
from gaitgen.pipeline import make_cycle
from gaitgen.reading.match import match_animal
from gaitgen.reading.read import clip_from_bvh
from gaitgen.reading.strides import is_closed, one_stride, unlike_strides
from gaitgen.rigs.cycle import LoadedRig, RigClip, load_rig, refuse_what_is_the_rigs
from gaitgen.rigs.map_file import is_map

Made = TypeVar("Made")

LEAST_DEG = 0.05  # a smaller change is not reported
LEAST_MM = 0.5
SEAM = (
    "the last frame of the stride is not as its first, though it is the same moment; what was changed in the "
    "last one only is not carried, so change the first one alike."
)


@dataclass(frozen=True)
class Wanted:
    """Where an edit is to be carried; None leaves it as in the refined clip.

    Attributes
    ----------
    frames, speed_m_s
        Length of a stride, and speed over the ground. [frames], [m/s]
    animal, gait
        Name or path of an animal and of a gait.
    style
        The style factors that the clip was made with.
    proportions
        What to change in the animal.
    """

    frames: int | None = None
    speed_m_s: float | None = None
    animal: str | None = None
    gait: str | None = None
    style: Style = field(default_factory=Style)
    proportions: Proportions = field(default_factory=Proportions)


@dataclass(frozen=True)
class JointChange:
    """How far one joint was turned by hand, how far in the carried clip, and in which frames most."""

    joint: str
    changed_deg: float
    changed_at: int
    carried_deg: float
    carried_at: int


@dataclass(frozen=True, eq=False)
class CarriedFile:
    """A refined clip, and the same edit in another.

    Attributes
    ----------
    file
        The refined clip.
    edit, carried
        What was changed, and the clip that it was laid over.
    request
        What that clip was made from.
    wanted
        What was asked for.
    space
        Unit, axes and rotation order of the refined file.
    notices
        What was guessed or changed.
    on_rig
        The same on a rig, if it was carried to one.
    """

    file: Path
    edit: Edit
    carried: Carried | CarriedRig
    request: Request
    wanted: Wanted
    space: FileSpace
    notices: tuple[Notice, ...]
    on_rig: RigClip | None = None

    @property
    def name(self) -> str:
        """Name of the animal or rig that it was carried to."""
        return self.carried.clip.animal.name if self.on_rig is None else self.on_rig.rig.name

    @property
    def slip_m(self) -> float:
        """How far planted toes are from their prints at the most. [m]"""
        if isinstance(self.carried, CarriedRig) or self.on_rig is None:
            return self.carried.slip_m
        return max(self.carried.slip_m, float(self.on_rig.motion.misses_m.max()))

    def files(self, hand_off: HandOff) -> dict[str, bytes]:
        """Write the clip and what is wanted beside it: end of each file's name to its bytes."""
        if self.on_rig is None:
            return hand_off_files.encode(self.carried.clip, self.space, hand_off)[0]
        if not isinstance(self.carried, CarriedRig):
            return self.on_rig.files(hand_off)
        files = self.on_rig.files(replace(hand_off, controls=False))
        if hand_off.controls:
            files |= self.on_rig.control_files(carried_controls(self.carried), hand_off)
        return files

    @property
    def stem(self) -> str:
        """Name for the files: that of the refined clip, and what it was carried to."""
        request = self.request
        carried_to = Request(
            gait=request.gait,
            frames=request.frames,
            lead=request.lead,
            speed_m_s=self.wanted.speed_m_s,
            proportions=self.wanted.proportions,
        )
        return f"{self.file.stem}_{carried_to.stem(self.name)}"

    def joints(self) -> tuple[JointChange, ...]:
        """Compare the edit joint by joint, in the order of the tree, without those that did not change."""
        asked = dict(zip(self.edit.joint_names, np.moveaxis(self.edit.turn_rad, 1, 0), strict=True))
        found = []
        for k, name in enumerate(self.carried.joint_names):
            there = np.degrees(np.linalg.norm(asked.get(name, np.zeros((1, 3))), axis=1))
            here = np.degrees(np.linalg.norm(self.carried.made_rad[:, k], axis=1))
            if max(there.max(), here.max()) >= LEAST_DEG:
                at = int(there.argmax()) + 1, int(here.argmax()) + 1
                found.append(JointChange(name, float(there.max()), at[0], float(here.max()), at[1]))
        return tuple(found)

    def facts(self) -> dict[str, object]:
        """Sum up the edit for programs."""
        carried = self.carried
        return {
            "file": str(self.file),
            "animal": self.name,
            "frames_before": self.edit.timing.frames,
            "frames": self.request.frames,
            "joints": [vars(joint) for joint in self.joints()],
            "root_moved_m": float(np.linalg.norm(self.edit.moved_m, axis=1).max()),
            "root_carried_m": float(np.linalg.norm(carried.moved_m, axis=1).max()),
            "prints_moved_m": {
                limb: [round(float(v), 6) for v in place]
                for limb, place in zip(LIMBS, carried.print_m, strict=True)
            },
            "trunk_lowered_m": carried.sunk_m,
            "trunk_share": carried.trunk_share,
            "limb_share": carried.limb_share,
            "slip_m": self.slip_m,
            "notices": [vars(notice) for notice in self.notices],
        }

    def json(self, files: list[str]) -> str:
        """Print the report for programs."""
        return json.dumps(self.facts() | {"files": files}, indent=2) + "\n"

    def text(self) -> str:
        """Write the report for people."""
        carried, joints = self.carried, self.joints()
        title = carried.clip.animal.title if self.on_rig is None else f"rig {self.name}"
        before, after = self.edit.timing.frames, self.request.frames
        lines = [f"{self.file}: the edit carried from {before} frames to {after}, {title.lower()}"]
        if joints:
            lines += ["", f"  {'joint':<18}{'changed':>9}{'at':>5}{'carried':>10}{'at':>5}   degrees, frame"]
        lines += [
            f"  {j.joint:<18}{j.changed_deg:9.1f}{j.changed_at:5d}{j.carried_deg:10.1f}{j.carried_at:5d}"
            for j in joints
        ]
        moved = [
            1000.0 * float(np.linalg.norm(m, axis=1).max()) for m in (self.edit.moved_m, carried.moved_m)
        ]
        lines += ["", f"  body moved    {moved[0]:.0f} mm, carried {moved[1]:.0f} mm"]
        prints = 1000.0 * np.linalg.norm(carried.print_m, axis=1)
        away = [f"{limb} {mm:.0f} mm" for limb, mm in zip(LIMBS, prints, strict=True) if mm >= LEAST_MM]
        lines.append(f"  prints moved  {', '.join(away) or 'none'}")
        lines.append(f"  largest slip  {1000.0 * self.slip_m:.3f} mm")
        is_open = any(notice.topic == "seam" for notice in self.notices)
        if not joints and not away and moved[0] < LEAST_MM and not is_open:
            lines.append("  nothing was changed by hand, so this is the plain clip")
        return "\n".join([*lines, "", *(f"  note: {notice.text}" for notice in self.notices)]) + "\n"


def carry_file(
    path: Path, wanted: Wanted, original: Path | None = None, map_path: Path | None = None
) -> CarriedFile:
    """Carry what a hand changed in a clip to another length, speed, animal or gait.

    Parameters
    ----------
    path
        The refined clip, on the joints that gaitgen writes.
    wanted
        Where to.
    original
        The clip that it started from; made again from what the refined one shows if not given.
    map_path
        The map of the rig that the clip is on; if not given it is on gaitgen's joints, or on those of the
        rig that it is to be carried to.

    Raises
    ------
    GaitgenError
        If a file cannot be read, or the edit cannot be carried there; one line.
    """
    to = _rig_of(wanted)
    if map_path is not None:
        return _from_rig(path, load_rig(str(map_path)), to, wanted, original)
    if to is not None and is_on(path, to.rig):
        return _from_rig(path, to, None, wanted, original)
    refined = clip_from_bvh(path)
    stride, chosen = _stride_of(refined, path)
    if not is_closed(stride):
        chosen += (Notice("seam", SEAM),)
    if original is None:
        request = request_of(stride, wanted.style)
        before = make_cycle(request)
        said = _started(request, before)
    else:
        started = clip_from_bvh(original, _known(refined))
        before, more = _stride_of(started, original)
        chosen += more
        request = request_of(before, wanted.style)
        said = Notice("from", f"changed by hand is what differs from {original}.")
    off = ground_of(path, refined) - (0.0 if original is None else ground_of(original, started))
    edit, moved = lowered(difference(before, stride), off)
    space, about = space_of(path)
    target = _target(request, wanted, to, in_place=refined.is_in_place, strides=int(refined.facts.strides))
    return _carried(path, edit, target, wanted, to, space, (said, *moved, *chosen, *about))


def _carried(
    path: Path,
    edit: Edit,
    target: Request,
    wanted: Wanted,
    to: LoadedRig | None,
    space: FileSpace,
    said: tuple[Notice, ...],
) -> CarriedFile:
    """Lay an edit over a cycle of an animal, or of the one that stands for a rig."""
    plain, one = _both(target, make_cycle if to is None else to.animals_cycle)
    carried = carry(edit, plain, one)
    on_rig = None if to is None else to.carry(carried.clip)
    made = carried.clip if on_rig is None else on_rig.clip
    notices = (*said, *_laid(carried, edit), *made.notices)
    return CarriedFile(path, edit, carried, target, wanted, space, notices, on_rig)


def _both(target: Request, make: Callable[[Request], Made]) -> tuple[Made, Made]:
    """Make a clip, and one stride of it in place."""
    plain = make(target)
    if target.in_place and target.strides == 1:
        return plain, plain
    return plain, make(replace(target, in_place=True, strides=1))


def _rig_of(wanted: Wanted) -> LoadedRig | None:
    """Read the rig that an edit is to be carried to, if it is one.

    Raises
    ------
    GaitgenError
        If it cannot be read, or proportions are asked for, which are a rig's own.
    """
    if not isinstance(wanted.animal, str) or not is_map(wanted.animal):
        return None
    refuse_what_is_the_rigs(wanted.animal, Request(proportions=wanted.proportions))
    return load_rig(wanted.animal)


def _from_rig(
    path: Path, own: LoadedRig, to: LoadedRig | None, wanted: Wanted, original: Path | None
) -> CarriedFile:
    """Carry what was changed in a clip on a rig along the rig, or to an animal or another rig."""
    refined = refined_on(path, own.rig)
    space = FileSpace()
    if original is None:
        request, before = started_on(refined, own, wanted.style)
        found = edit_on(refined, before)
        said = _started(request, before.clip)
    else:
        started = refined_on(original, own.rig)
        request, before = started_on(started, own, wanted.style)
        found = edit_on(refined, before, started.motion)
        said = Notice("from", f"changed by hand is what differs from {original}.")
    off = raised_m(refined, before, None if original is None else started.motion)
    on_prints = replace(found.edit, moved_m=found.edit.moved_m - np.array([0.0, 0.0, off]))
    edit, moved = lowered(on_prints, off)
    found = replace(found, edit=edit)
    notices = (said, *moved, *seam_notice(refined, SEAM))
    is_along = to is None and (wanted.animal is None or is_map(wanted.animal))
    target = _target(
        request,
        wanted,
        own if is_along else to,
        in_place=refined.stride.in_place,
        strides=refined.stride.strides,
    )
    if not is_along:
        return _carried(path, animals_edit(found, before), target, wanted, to, space, notices)
    if wanted.proportions != Proportions():
        raise RequestError("a rig has its own proportions; leave out withers height and the other ones")
    plain, one = _both(target, own.cycle)
    carried = carry_on_rig(found, plain, one)
    notices = (*notices, *_laid(carried, found.edit), *carried.clip.notices)
    return CarriedFile(path, found.edit, carried, target, wanted, space, notices, carried.made)


def _stride_of(clip: Motion, path: Path) -> tuple[Motion, tuple[Notice, ...]]:
    """Take the stride of a clip that was changed, and say which; the first where all are alike.

    Raises
    ------
    RequestError
        If several strides differ, so that it is not clear which is meant.
    """
    unlike = unlike_strides(clip)
    if unlike is None:
        return one_stride(clip), ()
    only = unlike.only
    if only is None:
        raise RequestError(
            f"{path}: its {unlike.strides} strides are not alike, they differ in frames {unlike.where()}; "
            f"cut the clip to the stride to carry, such as frames {unlike.span(unlike.odd[-1])}"
        )
    text = (
        f"stride {only + 1} of {path.name} differs from the others, in frames {unlike.where()}; it is the "
        "one that is carried, into every stride, and its frames count from 1 here; to carry another "
        "cut the clip to it."
    )
    return one_stride(clip, only), (Notice("strides", text),)


def _known(clip: Motion) -> str | None:
    from gaitgen.animal.library import animal_names

    return clip.animal.name if clip.animal.name in animal_names() else None


def _started(request: Request, before: Motion) -> Notice:
    how = "with the contacts found in it" if request.contacts else f"at {before.facts.speed_m_s:.2f} m/s"
    text = (
        f"changed by hand is what differs from the {request.gait} of {request.frames} frames that gaitgen "
        f"makes {how}; name the clip that it started from with --from if that was another."
    )
    return Notice("from", text)


def _laid(carried: Carried | CarriedRig, edit: Edit) -> list[Notice]:
    """Say what was held back, and what found no joint."""
    notices = []
    if carried.sunk_m > 0.0:
        text = f"the trunk is lowered by {1000.0 * carried.sunk_m:.0f} mm, so that the legs reach."
        notices.append(Notice("reach", text))
    if carried.trunk_share < 1.0:
        text = (
            f"only {100 * carried.trunk_share:.0f} % of the edit of the trunk is carried; with more, the "
            "legs do not reach."
        )
        notices.append(Notice("reach", text))
    if carried.limb_share < 1.0:
        text = (
            f"only {100 * carried.limb_share:.0f} % of the edit of the legs is carried, for the same reason."
        )
        notices.append(Notice("reach", text))
    size = np.degrees(np.linalg.norm(edit.turn_rad, axis=2).max(axis=0))
    lost = [
        name
        for name, angle in zip(edit.joint_names, size, strict=True)
        if angle >= LEAST_DEG and name not in carried.joint_names
    ]
    if lost:
        some = ", ".join(lost[:3]) + (", ..." if len(lost) > 3 else "")
        notices.append(Notice("joints", f"this animal has no {some}, so what was changed there is left out."))
    return notices


def _target(
    request: Request, wanted: Wanted, to: LoadedRig | None, *, in_place: bool, strides: int
) -> Request:
    """Say what is to be made: the request of the refined clip, with what is wanted instead."""
    frames = wanted.frames or request.frames
    animal = to.animal if to is not None else wanted.animal or request.animal
    same = (frames, wanted.animal, wanted.gait) == (request.frames, None, None)
    if wanted.proportions != Proportions() and not isinstance(animal, str):
        raise RequestError(
            "the animal of this clip has proportions of its own; name one with --animal to change it"
        )
    contacts = request.contacts if wanted.gait is None else None
    if contacts is not None and frames and request.frames and frames != request.frames:
        timing = stretched(parse_contacts(contacts, request.frames), frames, whole_frames=True)
        contacts = contacts_text(timing)
    speed = wanted.speed_m_s if wanted.speed_m_s is not None else (request.speed_m_s if same else None)
    return replace(
        request,
        gait=wanted.gait or request.gait,
        animal=animal,
        frames=frames,
        speed_m_s=speed,
        contacts=contacts,
        in_place=in_place,
        strides=strides,
        proportions=wanted.proportions,
    )


def space_of(path: Path) -> tuple[FileSpace, tuple[Notice, ...]]:
    """Return unit, up axis and rotation order of a file, as far as gaitgen writes such ones."""
    file = read_bvh(read_bvh_bytes(path, "clip"), str(path))
    matched = match_animal(file, str(path))
    letters = rotation_letters(file, int(matched.rows[0]))
    own = {up: FileSpace("m", up).positions_to_file(np.eye(3)).T for up in ("y", "z")}
    ups = [up for up, axes in own.items() if np.array_equal(axes.T, matched.axes)]
    if matched.unit in METRES_PER_UNIT and ups and len(letters) == 3:
        return FileSpace(matched.unit, ups[0], letters), ()
    text = "unit or axes of the file are none that gaitgen writes; the new files are in cm, y up, ZXY."
    return FileSpace(), (Notice("space", text),)
