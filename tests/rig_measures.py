"""What is measured in the written file of a rig, with its own table of places and a reader of BVH."""

import re
from functools import cache

import numpy as np
from make_rigs import UNITS, text

from gaitgen.course.stance import stance_state
from gaitgen.formats.bvh_file import placed, world_end_sites
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.rigs.command import cycle_on_rig, fit


def has_styles(plan, clip, name):
    """Whether a style has its effect on a rig: nod and lift by 1.4 nod and lift that much more."""
    plain, nods, lifts = clip(name), clip(name, nod=1.4), clip(name, lift=1.4)
    return 1.3 <= nod_rad(plan, nods) / nod_rad(plan, plain) <= 1.5 and (
        lift_m(plan, lifts) / lift_m(plan, plain) > 1.3
    )


def charts(folder, plans):
    """Of each plan's name: the path of its map, fitted once and in its own unit, and what was found."""

    @cache
    def of(name):
        path = folder / f"{name}.toml"
        (folder / f"{name}.bvh").write_text(text(plans[name]))
        found = fit(folder / f"{name}.bvh", path)
        path.write_text(re.sub("(?m)^unit = .*", f'unit = "{plans[name].unit}"', path.read_text()))
        return path, found

    return of


def clips(chart):
    """Of each plan's name: its cycle in a gait, length and style, made once."""

    @cache
    def of(name, gait="walk", frames=None, **style):
        request = Request(gait=gait, frames=frames, style=Style(**style))
        return cycle_on_rig(str(chart(name)[0]), request)

    return of


def tracks_m(plan, made):
    """Joints by name, (frames, 3), and toes, (frames, 4, 3): forward, left, up in metres."""
    file = read_bvh(made.bvh(), made.rig.name)
    turn = np.array(plan.axes, dtype=float).T * UNITS[plan.unit]
    places, _, _ = placed(file)
    ends = world_end_sites(file) @ turn
    lasts = [file.joint_names.index(made.rig.map.limbs[limb].joints[-1]) for limb in LIMBS]
    joints = np.swapaxes(places @ turn, 0, 1)
    rows = [next((e for e, joint in enumerate(file.end_joints) if joint == last), None) for last in lasts]
    toes = [joints[last] if row is None else ends[:, row] for last, row in zip(lasts, rows, strict=True)]
    return dict(zip(file.joint_names, joints, strict=True)), np.stack(toes, axis=1)


def slip_m(plan, made):
    """How far planted toes are from their prints and off the ground; where the whole plan lies is free."""
    clip = made.clip
    _, toes = tracks_m(plan, made)
    moments = np.arange(clip.frames) / clip.frame_rate_hz
    state = stance_state(clip.steps, moments)
    toes[..., :2] += (moments[:, None] * clip.belt_m_s)[:, None]
    away = toes[..., :2] - state.place_m[..., :2]
    away = away - np.median(away[state.planted], axis=0)
    flat = np.where(state.planted, np.hypot(away[..., 0], away[..., 1]), 0.0)
    height = np.where(state.planted, np.abs(toes[..., 2]), 0.0)
    return max(float(flat.max()), float(height.max()), -float(toes[..., 2].min()))


def nod_rad(plan, made):
    """Range of the pitch of the line from chest to head against the line from pelvis to chest."""
    joints, _ = tracks_m(plan, made)
    own = made.rig.map
    neck = joints[own.head] - joints[own.neck[0]]
    trunk = joints[own.chest] - joints[own.pelvis]
    if own.chest == own.pelvis:
        tops = {limb: joints[own.limbs[limb].joints[0]] for limb in LIMBS}
        trunk = tops["LF"] + tops["RF"] - tops["LH"] - tops["RH"]
    pitch = [np.arctan2(line[:, 2], np.hypot(line[:, 0], line[:, 1])) for line in (neck, trunk)]
    return float(np.ptp(pitch[0] - pitch[1]))


def hips_m(plan, made, axis):
    """Range of the middle of the hips along an axis: 1 to the left, 2 up."""
    joints, _ = tracks_m(plan, made)
    tops = [joints[made.rig.map.limbs[limb].joints[0]] for limb in ("LH", "RH")]
    return float(np.ptp((tops[0] + tops[1])[:, axis] / 2.0))


def lift_m(plan, made):
    """Mean of how high the four toes are lifted."""
    return float(tracks_m(plan, made)[1][..., 2].max(axis=0).mean())
