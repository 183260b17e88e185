"""A rig that is read, and a cycle on it: the clip, the rig's pose, and the files of both."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path
from typing import TypeVar

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.animal.proportions import Proportions
from gaitgen.animal.toml_table import read_bytes
from gaitgen.errors import Notice, ReachError, RequestError, RigError
from gaitgen.formats import controls as control_files
from gaitgen.formats import keys as key_files
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import ChannelTable
from gaitgen.formats.hand_off import HandOff, facts_of
from gaitgen.formats.held_keys import held_keys
from gaitgen.motion.controls import Controls, controls, rig_scale
from gaitgen.motion.keys import Keys
from gaitgen.motion.motion import Motion
from gaitgen.motion.report import KeyFacts
from gaitgen.motion.tolerance import Tolerance
from gaitgen.pipeline import Request, make_cycle
from gaitgen.rigs.encode import channel_table, encode_bvh, encode_channels
from gaitgen.rigs.even_nod import with_even_nod
from gaitgen.rigs.gimbal import gimbal_notices
from gaitgen.rigs.key_feet import RigFeet
from gaitgen.rigs.known_turns import known_turns
from gaitgen.rigs.map_file import read_map
from gaitgen.rigs.one_fold import walking_as_mapped
from gaitgen.rigs.own_gaits import with_own_gaits
from gaitgen.rigs.own_ranges import refuse_other_joints, with_own_ranges, with_ranges_in
from gaitgen.rigs.pose import RigMotion, Ways, pose_rig
from gaitgen.rigs.rate import rate_notice
from gaitgen.rigs.refused import advice, is_straight, what_it_can
from gaitgen.rigs.rig import Rig, make_rig
from gaitgen.rigs.rig_space import RigSpace, from_rigs_origin
from gaitgen.rigs.said import measured_notice, names_notice
from gaitgen.rigs.toes import toes_notices
from gaitgen.rigs.under_ground import Lifted, lifted_clip, over_ground

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class LoadedRig:
    """A rig, and the animal that stands for it.

    Attributes
    ----------
    where
        Path of its map, for messages.
    rig
        The rig.
    standing
        The animal with its proportions, and with the template's ranges: how far its own joints turn is found
        where `animal` is asked for, as it takes a walk in each of its gaits if the map does not keep it.
    notices
        What had to be changed so that the animal can stand.
    """

    where: str
    rig: Rig
    standing: Animal
    notices: tuple[Notice, ...]

    @cached_property
    def animal(self) -> Animal:
        """The animal with its proportions and ranges."""
        with np.errstate(all="ignore"):  # what comes out of no animal is refused when it is to move
            known = known_turns(self.rig, self.standing)
            return with_own_ranges(self.rig, self.standing, load_animal(self.rig.map.template), known)

    def cycle(self, request: Request) -> RigClip:
        """Make one cycle; the animal of the request is replaced by the rig.

        Raises
        ------
        GaitgenError
            If the request is not usable, or no limb of these proportions can take its steps.
        """
        return self.carry(self.animals_cycle(request))

    def animals_cycle(self, request: Request) -> Motion:
        """Make one cycle of the animal that stands for the rig, without the rig.

        Raises
        ------
        GaitgenError
            If the request is not usable, or no limb of these proportions can take its steps.
        """
        with np.errstate(all="ignore"):  # what comes out of no animal is looked for when it is carried over
            return self.refusing(
                lambda: self._made(request),
                lambda: what_it_can(self.rig, self.animal, request, self._made),
            )

    def _made(self, request: Request) -> Motion:
        animal = self.animal if request.gait is None else _in_gait(self, request.gait)
        return with_even_nod(replace(request, animal=animal, proportions=Proportions()), make_cycle)

    def refusing(self, make: Callable[[], T], instead: Callable[[], str] = str) -> T:
        """Make something of the animal; where its limbs do not reach, say what to do about the rig.

        Parameters
        ----------
        make
            Makes it.
        instead
            Says what the rig can do instead, at the end of the line.

        Raises
        ------
        RigError
            If no limb of these proportions can take its steps.
        """
        try:
            return make()
        except ReachError as error:
            if is_straight(self.rig):
                raise RigError(self._fault) from None
            raise RigError(f"{self.where}: {error}{instead()}") from None

    @property
    def _fault(self) -> str:
        return f"{self.where}: limbs of these proportions cannot take these steps; {advice(self.rig)}"

    def carry(self, clip: Motion, ways: Ways | None = None) -> RigClip:
        """Carry a clip of the animal that stands for the rig over to it.

        Parameters
        ----------
        clip
            Of that animal.
        ways
            The way of the body over the ground, for a root that carries it, where it is more than an even
            travel: place (frames, 3) [m] and heading (frames,) [rad].

        Raises
        ------
        RigError
            If no limb of these proportions can take its steps.
        """
        with np.errstate(all="ignore"):
            motion = pose_rig(clip, self.rig, ways)
        if not np.isfinite(motion.changes).all():
            raise RigError(self._fault)
        rig = self.rig
        lifted = over_ground(rig, motion) if ways is None else Lifted(motion, {}, ())
        motion, clip = lifted.motion, lifted_clip(clip, lifted.turns_rad)
        said = (*self.notices, *motion.notices, *gimbal_notices(rig, motion.changes), *names_notice(rig))
        said += (measured_notice(rig, motion), *rate_notice(rig, clip.frame_rate_hz))
        said += lifted.notices
        return RigClip(replace(clip, notices=(*clip.notices, *said)), rig, motion)


def load_rig(map_path: str) -> LoadedRig:
    """Read a map and its rig, and make the animal that stands for it.

    Raises
    ------
    GaitgenError
        If map or rig are not usable.
    """
    _, rig_path, data = read_map(Path(map_path))
    return _loaded(map_path, read_bytes(Path(map_path), "map"), str(rig_path), data)


@lru_cache(maxsize=32)
def _in_gait(loaded: LoadedRig, gait: str) -> Animal:
    """Return the animal of a rig with ranges that a gait fits into which its template has no manner for."""
    with np.errstate(all="ignore"):
        return with_ranges_in(loaded.rig, loaded.animal, load_animal(loaded.rig.map.template), gait)


@lru_cache(maxsize=32)
def _loaded(where: str, map_data: bytes, rig_path: str, data: bytes) -> LoadedRig:
    """Do what takes long once for each pair of files; ``map_data`` tells one map from another."""
    del map_data
    rig_map, _, _ = read_map(Path(where))
    template = load_animal(rig_map.template)
    rig = make_rig(data, rig_path, rig_map, template)
    with np.errstate(all="ignore"):  # what comes out of no animal is refused when it is to move
        animal, said = with_own_gaits(rig, template)
        animal, told = walking_as_mapped(rig_map, animal)
        notices = (*toes_notices(rig_map), *said, *told)
        refuse_other_joints(rig, animal)
        return LoadedRig(where, rig, animal, notices)


@dataclass(frozen=True, eq=False)
class RigClip:
    """A clip, and the same motion on a rig.

    Attributes
    ----------
    clip
        On the skeleton with the rig's proportions; its notices tell about the rig too.
    rig, motion
        The rig and its pose over time.
    """

    clip: Motion
    rig: Rig
    motion: RigMotion

    @property
    def stem(self) -> str:
        """Name of its files, without suffix: RIG_GAIT_FRAMES."""
        return (self.clip.asked or Request()).stem(self.rig.name)

    def bvh(self) -> bytes:
        """Write the motion as BVH with the rig's own HIERARCHY."""
        return encode_bvh(self.rig, self.motion, self.clip.frame_rate_hz)

    def files(self, hand_off: HandOff) -> dict[str, bytes]:
        """Write BVH, table of channels and what is wanted beside: end of the file's name to its bytes."""
        return self.encoded(hand_off)[0]

    def encoded(self, hand_off: HandOff) -> tuple[dict[str, bytes], Keys | None]:
        """Write all files as `files` does, and return the keys of the channels too, if they are wanted."""
        files = {
            ".bvh": self.bvh(),
            ".channels.csv": encode_channels(self.rig, self.motion, self.clip.frame_rate_hz),
        }
        keys = None
        if hand_off.keys:
            keys = self.keys(hand_off.tolerance, is_sparse=hand_off.sparse)
            files[".keys.csv"] = key_files.encode(keys)
        if hand_off.key_poses:
            rows, frame_time_s = key_files.key_pose_rows(self.clip)
            files[".poses.bvh"] = encode_bvh(self.rig, self.motion, 1.0 / frame_time_s, rows)
        if hand_off.controls:
            files |= self.control_files(from_rigs_origin(self.rig, self.clip, controls(self.clip)), hand_off)
        return files, keys

    def control_files(self, curves: Controls, hand_off: HandOff) -> dict[str, bytes]:
        """Write curves in space, given from the origin of the rig's file, in its unit and axes.

        Raises
        ------
        RequestError
            If the size of the rig that they are for is not usable.
        """
        space = RigSpace.of(self.rig)
        height = None if hand_off.rig_height is None else hand_off.rig_height * space.metres_per_unit
        withers = self.clip.animal.withers_height_m
        scale = rig_scale(withers, factor=hand_off.rig_scale, height_m=height, unit=space.unit)
        curves = curves.scaled(scale)
        files = {".controls.csv": control_files.encode(curves, space, self.clip.frame_rate_hz)}
        if hand_off.keys:
            keys = control_files.control_keys(
                self.clip, curves, space, hand_off.tolerance, scale, is_sparse=hand_off.sparse
            )
            files[".controls.keys.csv"] = key_files.encode(keys)
        return files

    def key_facts(self, keys: Keys) -> KeyFacts:
        """Sum up the keys of the channels for the report."""
        metres = self.rig.metres_per_unit
        drift_m = (keys.drift or 0.0) * metres + float(self.motion.misses_m.max())
        return facts_of(keys, metres, drift_m)

    def keys(self, tolerance: Tolerance, *, is_sparse: bool = False) -> Keys:
        """Choose a few keys with tangents that play the motion, on the rig's own channels."""
        table = ChannelTable(*channel_table(self.rig, self.motion))
        length = tolerance.length_m(self.clip.animal.hip_height_m) / self.rig.metres_per_unit
        allowed = np.where([name.endswith("position") for name in table.names], length, tolerance.angle_deg)
        return held_keys(self.clip, table, allowed, RigFeet(self.rig), length, is_sparse=is_sparse)


def refuse_what_is_the_rigs(where: str, request: Request, space: FileSpace | None = None) -> None:
    """Refuse to be asked for what a rig has of its own.

    Raises
    ------
    RequestError
        For proportions, and for unit, axes and rotation order.
    """
    if request.proportions != Proportions():
        raise RequestError(
            f"{where} is the map of a rig, which has its own proportions; leave out withers height, body "
            "mass and the other proportions"
        )
    if space is not None and space != FileSpace():
        raise RequestError(
            f"{where} is the map of a rig, which has its own unit, axes and rotation orders; leave out "
            "unit, up axis and rotation order"
        )
