"""What comes of carrying an edit: what was asked for, the new clip, its files, and the report."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.sizes import Proportions
from gaitgen.edits.as_animal import carried_controls, rig_names
from gaitgen.edits.carry import Carried
from gaitgen.edits.difference import Edit
from gaitgen.edits.joint_changes import JointChange, joint_lines, others_line, touched
from gaitgen.edits.own_name import Varied
from gaitgen.edits.rig_edit import CarriedRig
from gaitgen.errors import Notice
from gaitgen.formats import hand_off as hand_off_files
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.motion.motion import Motion
from gaitgen.numerics.standard_input import stem_of
from gaitgen.rigs.animal_pose import as_posed
from gaitgen.rigs.cycle import RigClip

Array = npt.NDArray[np.float64]

LEAST_MM = 0.5  # a smaller change is not reported


@dataclass(frozen=True)
class Wanted:
    """Where an edit is to be carried; None leaves it as in the refined clip.

    Attributes
    ----------
    frames, speed_m_s
        Length of a stride, and speed over the ground. [frames], [m/s]
    animal, gait
        Name or path of an animal and of a gait.
    style, named_style, legs
        The style of the new clip; the refined one is plain or in the same.
    proportions
        What to change in the animal.
    may_have
        Ready-made styles that the refined clip may be in, where nothing is said about the style.
    may_go
        Single factors that it may have beside them.
    varied
        How the strides of the refined clip differ, if it is of a seed.
    """

    frames: int | None = None
    speed_m_s: float | None = None
    animal: str | None = None
    gait: str | None = None
    style: Style = field(default_factory=Style)
    named_style: str | None = None
    legs: str | None = None
    proportions: Proportions = field(default_factory=Proportions)
    may_have: str | None = None
    may_go: Style = field(default_factory=Style)
    varied: Varied | None = None

    @property
    def has_style(self) -> bool:
        """Whether anything is said about the style."""
        return (self.style, self.named_style, self.legs) != (Style(), None, None)

    def styled(self, request: Request) -> Request:
        """Ask for the style, if there is one."""
        if not self.has_style:
            return request
        return replace(request, style=self.style, named_style=self.named_style, legs=self.legs)

    def may_be(self, animal: str | Animal) -> tuple[Request, ...]:
        """Say in which styles the refined clip may be: plain, in that of the new one, or as its name says."""
        plain = Request(animal=animal)
        if self.varied is not None:
            plain = self.varied.asked(plain)
        if not self.has_style and (self.may_have, self.may_go) != (None, Style()):
            return plain, replace(plain, style=self.may_go, named_style=self.may_have)
        return (plain, self.styled(plain)) if self.has_style else (plain,)


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
    from_names
        Joints of the animal, and those of the rig that was changed for them, if it was another.
    """

    file: Path
    edit: Edit
    carried: Carried | CarriedRig
    request: Request
    wanted: Wanted
    space: FileSpace
    notices: tuple[Notice, ...]
    on_rig: RigClip | None = None
    from_names: Mapping[str, str] = field(default_factory=dict)

    @property
    def shown(self) -> Motion:
        """The new clip as pictures show it, with the edit."""
        if isinstance(self.carried, CarriedRig):
            return as_posed(self.carried.made)
        return self.carried.clip

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

    @property
    def prints_m(self) -> Array:
        """How far each print was moved, of several strides the one that was moved farthest, (4, 2). [m]"""
        own = self.carried.print_m.reshape(-1, len(LIMBS), 2)
        farthest = np.linalg.norm(own, axis=2).argmax(axis=0)
        return np.asarray(own[farthest, np.arange(len(LIMBS))])

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
        carried_to = self.wanted.styled(
            Request(
                gait=request.gait,
                frames=request.frames,
                lead=request.lead,
                speed_m_s=self.wanted.speed_m_s,
                proportions=self.wanted.proportions,
                strides=request.strides if request.seed is not None else 1,
                seed=request.seed,
            )
        )
        return f"{stem_of(self.file)}_{carried_to.stem(self.name)}"

    def _joint_changes(self) -> tuple[JointChange, ...]:
        """Compare the edit joint by joint, in the order of the tree, without those that did not change."""
        asked = dict(zip(self.edit.joint_names, np.moveaxis(self.edit.turn_rad, 1, 0), strict=True))
        is_along = isinstance(self.carried, CarriedRig)
        to = {} if self.on_rig is None or is_along else rig_names(self.on_rig.rig, self.on_rig.clip.animal)
        none, made = np.zeros((1, 3)), np.moveaxis(self.carried.made_rad, 1, 0)
        found = (
            JointChange.of(name, asked.get(name, none), is_made, self.from_names.get(name), to.get(name))
            for name, is_made in zip(self.carried.joint_names, made, strict=True)
        )
        return tuple(change for change in found if change is not None)

    @cached_property
    def told(self) -> tuple[tuple[JointChange, ...], tuple[JointChange, ...]]:
        """Part the joints that were turned from those that are only off as keys are."""
        return touched(self._joint_changes(), len(self.carried.joint_names))

    def joints(self) -> tuple[JointChange, ...]:
        """Joints that were turned, in the order of the tree."""
        return self.told[0]

    def facts(self) -> dict[str, object]:
        """Sum up the edit for programs."""
        carried = self.carried
        return {
            "file": str(self.file),
            "animal": self.name,
            "frames_before": round(self.edit.timing.stride_frames),
            "frames": self.request.frames,
            "joints": [vars(joint) for joint in self.joints()],
            "root_moved_m": float(np.linalg.norm(self.edit.moved_m, axis=1).max()),
            "root_carried_m": float(np.linalg.norm(carried.moved_m, axis=1).max()),
            "prints_moved_m": {
                limb: [round(float(v), 6) for v in place]
                for limb, place in zip(LIMBS, self.prints_m, strict=True)
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
        carried, (joints, others) = self.carried, self.told
        title = carried.clip.animal.title if self.on_rig is None else f"rig {self.name}"
        before, after = round(self.edit.timing.stride_frames), self.request.frames
        times = "" if self.request.seed is None else f"{self.request.strides} strides of "
        lines = [f"{self.file}: the edit carried from {times}{before} frames to {after}, {title.lower()}"]
        lines += joint_lines(joints) + others_line(others)
        moved = [
            1000.0 * float(np.linalg.norm(m, axis=1).max()) for m in (self.edit.moved_m, carried.moved_m)
        ]
        lines += ["", f"  body moved    {moved[0]:.0f} mm, carried {moved[1]:.0f} mm"]
        prints = 1000.0 * np.linalg.norm(self.prints_m, axis=1)
        away = [f"{limb} {mm:.0f} mm" for limb, mm in zip(LIMBS, prints, strict=True) if mm >= LEAST_MM]
        lines.append(f"  prints moved  {', '.join(away) or 'none'}")
        lines.append(f"  largest slip  {1000.0 * self.slip_m:.3f} mm")
        topics = {notice.topic for notice in self.notices}
        if not joints and not away and moved[0] < LEAST_MM and "seam" not in topics:
            is_timed = "contacts" in topics
            lines.append(
                "  nothing was changed by hand but when feet land and leave"
                if is_timed
                else "  nothing was changed by hand, so this is the plain clip"
            )
        return "\n".join([*lines, "", *(f"  note: {notice.text}" for notice in self.notices)]) + "\n"
