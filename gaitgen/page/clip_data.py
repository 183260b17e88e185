"""A clip as the page plays it: baked balls, feet and the plan, as plain numbers."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import cast

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.flesh import LAYERS, Chain, body_of, chains_of
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.struts import own_settle_strides
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.flesh import carried_along
from gaitgen.motion.measure import measure_feet, planted
from gaitgen.motion.motion import Motion
from gaitgen.motion.report import Report, report
from gaitgen.page.points import point_paths_m, points_of

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# Places are whole numbers of this, small against a pixel at any zoom. [m]
UNIT_M = 1e-4
LIMB_PARTS = tuple(f"{limb} {part}" for limb in LIMBS for part in ("upper", "lower"))
PARTS = (*LIMB_PARTS, "trunk", "neck", "head", "L flap", "R flap", "mane", "tail")


def clip_data(clip: Motion, gait: str) -> dict[str, object]:
    """Lay out everything the page draws and prints.

    Parameters
    ----------
    clip
        One stride in place; the last frame repeats the first.
    gait
        Its name, or the path of its file.

    Returns
    -------
    dict
        Plain numbers, lists and words: ``balls`` (frames, 3 balls), ``radii`` (balls,), ``foot_corners``
        (frames, 4 x 8 x 3) and ``point_paths`` (frames, 3 points) are whole numbers of ``unit_m``, `packed`;
        ``chains`` are (part, first ball, number of balls), each drawn as a smooth curve through its balls;
        ``merged`` are the chains that pass into the trunk under them; ``marks`` are the parts that lie on
        the skin; ``points`` are (name, label, side).
    """
    feet = measure_feet(clip)
    found = report(clip, feet=feet)
    return {
        "gait": gait_word(gait).replace("_", " "),
        "frames": found.frames,
        "belt_m_per_frame": float(clip.belt_m_s[0] / clip.frame_rate_hz),
        **_figure_data(clip, feet.planted),
        "feet": [dict(vars(foot)) for foot in found.feet],
        "key_poses": [dict(vars(key)) for key in found.key_poses],
        "hips_mm": np.round(1000.0 * clip.plan.hips_heave_m, 2).tolist(),
        "chest_mm": np.round(1000.0 * clip.plan.chest_heave_m, 2).tolist(),
        "numbers": _numbers(found),
        "notices": [notice.text for notice in clip.notices],
        "own": _own(clip),
    }


def figure_data(clip: Motion) -> dict[str, object]:
    """Lay out the figure in every frame of a clip whose body stays over the origin, as `clip_data` has it."""
    return _figure_data(clip, planted(clip))


def _figure_data(clip: Motion, is_planted: Bools) -> dict[str, object]:
    """Lay out the figure, whose feet are known to stand or not."""
    places, world = clip.joints
    posed = carried_along(body_of(clip.animal), places, world)
    return {
        **_animal_data(clip.animal),
        "frame_rate_hz": clip.frame_rate_hz,
        "balls": packed(posed.balls_m.reshape(clip.frames, -1)),
        "foot_corners": packed(posed.feet_m.reshape(clip.frames, -1)),
        "point_paths": packed(point_paths_m(points_of(clip.animal), places, world).reshape(clip.frames, -1)),
        "planted": is_planted.astype(int).tolist(),
    }


@lru_cache(maxsize=32)
def _animal_data(animal: Animal) -> dict[str, object]:
    """Lay out what is the same in every clip of an animal; nobody writes into it."""
    chains = chains_of(animal)
    marks = tuple(dict.fromkeys(chain.name for chain in chains if LAYERS[chain.layer] == "marks"))
    used = {_part(animal, chain) for chain in chains}
    parts = tuple(part for part in (*PARTS, *marks) if part in used)
    look = animal.look
    return {
        "title": animal.title,
        "unit_m": UNIT_M,
        "withers_height_m": animal.withers_height_m,
        "limbs": LIMBS,
        "parts": parts,
        "marks": marks,
        "colours": {"skin": look.skin, "hair": look.hair, "horn": look.horn},
        "merged": [k for k, chain in enumerate(chains) if chain.is_upper and not chain.has_line],
        "horn": [limb.foot.is_horn for limb in animal.limbs],
        "chains": _chain_rows(animal, chains, parts),
        "radii": whole(np.array([ball[2] for chain in chains for ball in chain.balls])),
        "points": [(point.name, point.label, point.side) for point in points_of(animal)],
    }


def gait_word(gait: str) -> str:
    """Return the name of a gait; of a gait file, the name without folder and suffix."""
    return Path(gait).name.removesuffix(".toml")


def whole(lengths_m: Array) -> list[object]:
    """Write lengths as whole numbers of UNIT_M."""
    return cast("list[object]", np.rint(lengths_m / UNIT_M).astype(np.int64).tolist())


def packed(lengths_m: Array) -> dict[str, object]:
    """Write a table of lengths as whole numbers of UNIT_M: how many columns, and base64 of 32-bit integers.

    The lowest byte is first. As words a table takes the machine longer than all else that a page asks of it.
    """
    numbers = np.rint(lengths_m / UNIT_M).astype("<i4")
    return {"columns": numbers.shape[1], "packed": base64.b64encode(numbers.tobytes()).decode("ascii")}


def _chain_rows(animal: Animal, chains: Sequence[Chain], parts: Sequence[str]) -> list[tuple[int, int, int]]:
    rows, first = [], 0
    for chain in chains:
        rows.append((parts.index(_part(animal, chain)), first, len(chain.balls)))
        first += len(chain.balls)
    return rows


def _part(animal: Animal, chain: Chain) -> str:
    layer = LAYERS[chain.layer]
    if layer in LIMBS:
        return f"{layer} {'upper' if chain.is_upper else 'lower'}"
    if layer == "marks":  # the eyes tell which side faces the viewer; all other marks are drawn alike
        return chain.name
    if layer == "flap":
        standing = standing_positions_m(animal)
        left = sum(standing[joint, 1] + place[1] for joint, place, _ in chain.balls)
        return "R flap" if left < 0.0 else "L flap"
    joints = [joint for joint, _, _ in chain.balls]
    along = {*animal.spine[-2:], *animal.neck}
    is_neck = layer == "trunk" and joints[0] in along and bool(set(joints) & set(animal.neck))
    return "neck" if is_neck else layer


def _own(clip: Motion) -> dict[str, float | str]:
    """Return the values that gaitgen chose where none was given, by the name of the control."""
    animal = clip.animal
    fore = animal.limb("fore")
    cannon = 0.0 if fore.cannon is None else -float(animal.tips_m[fore.joints[fore.cannon], 2])
    return {
        "frames": float(clip.facts.frames),
        "speed": clip.facts.speed_m_s,
        "duty_factor": clip.facts.duty_factor,
        "lag": clip.facts.lag,
        "settle": own_settle_strides(animal, clip.steps),
        "withers_height": animal.withers_height_m,
        "cannon_ratio": cannon / animal.withers_height_m,
        "leg_factor": 1.0,
        "neck_factor": 1.0,
        "back_factor": 1.0,
        "head_factor": 1.0,
        **_own_words(clip),
    }


def _own_words(clip: Motion) -> dict[str, str]:
    """Return what gaitgen chose of lists."""
    if clip.asked is None:
        return {}
    chosen = {"gait": clip.asked.gait, "start": clip.asked.first_foot, "lead": clip.asked.lead}
    return {name: word for name, word in chosen.items() if word is not None}


def _numbers(found: Report) -> list[tuple[str, str]]:
    """Word the main numbers of the report: label and text."""
    tight = found.tightest_joint
    return [
        ("speed", f"{found.speed_m_s:.2f} m/s"),
        ("stride", f"{found.stride_length_m:.2f} m in {found.period_s:.2f} s"),
        ("Froude number", f"{found.froude_number:.2f}"),
        ("duty factor", f"{found.duty_factor:.3f}"),
        ("lag", f"{found.lag:.3f}"),
        ("hips rise", f"{1000.0 * found.hips.range_m:.0f} mm"),
        ("chest rises", f"{1000.0 * found.chest.range_m:.0f} mm"),
        ("hips lowered", f"{1000.0 * found.hips_drop_m:.0f} mm"),
        ("chest lowered", f"{1000.0 * found.chest_drop_m:.0f} mm"),
        ("peak force fore", f"{found.peak_fore_n_kg / GRAVITY_M_S2:.2f} body weights"),
        ("peak force hind", f"{found.peak_hind_n_kg / GRAVITY_M_S2:.2f} body weights"),
        ("largest slip", f"{1000.0 * found.largest_slip_m:.3f} mm"),
        ("tightest joint", f"{tight.joint}, {tight.axis}: {tight.margin_deg:.1f}\u00b0 to spare"),
    ]
