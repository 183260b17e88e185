"""A shot as the page plays it: the figure seen from its way, the ground along that, prints and the plan."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.motion.report import as_values
from gaitgen.page.clip_data import figure_data, packed
from gaitgen.pictures.plan_view import height_label, height_lines, prints_m
from gaitgen.pictures.shot_plan import ShotPlan
from gaitgen.shot.asked import Mark
from gaitgen.shot.make import Made
from gaitgen.shot.report import ShotReport, shot_report
from gaitgen.shot.seen import plan_of

Array = npt.NDArray[np.float64]

# The ground along the way, in withers heights: how far apart its stations are, how far it goes on before the
# start and after the end, and where across it points are; heights are known so far around, at least. [m]
STATION, BEYOND = 0.04, 2.2
ACROSS = (-0.5, -0.25, 0.0, 0.25, 0.5)
PLAN_ROOM = 4.0


def shot_data(
    made: Made,
    name: str,
    points_m: Sequence[tuple[float, float]] = (),
    marks: Sequence[Mark] = (),
    found: Sequence[Notice] = (),
) -> dict[str, object]:
    """Lay out everything the page draws and prints of a shot.

    Parameters
    ----------
    made
        The shot.
    name
        Its name.
    points_m
        The points of its path. [m]
    marks
        What it was asked to meet.
    found
        What a check finds in it.

    Returns
    -------
    dict
        As of `clip_data`, the figure as seen from the frame that goes along the way. Beside it ``way``
        (frames, 4): place, height and heading of that frame; ``gone_m`` (frames,); ``ribbon``: the ground
        along the way, (stations, 5 points across it, 3); ``prints``: foot, first and last frame, outline and
        height of each; ``stretches``: what happens from frame to frame; ``heights``: lines of equal height.
        Places in the world are metres.
    """
    data = plan_data(plan_of(made, marks), name, points_m, _numbers(shot_report(made)))
    return {**data, "notices": [notice.text for notice in (*made.clip.notices, *found)]}


def plan_data(
    plan: ShotPlan,
    name: str,
    points_m: Sequence[tuple[float, float]] = (),
    numbers: Sequence[tuple[str, str]] = (),
) -> dict[str, object]:
    """Lay out a shot of which no more is known than what is drawn of it, as `shot_data` has it.

    ``numbers`` are those beside the picture: label and text; the plainest if none are given.
    """
    terrain = plan.terrain
    way = np.column_stack([terrain.place_m, terrain.heading_rad])
    return {
        "is_shot": True,
        "gait": name,
        "frames": plan.clip.frames - 1,
        "belt_m_per_frame": 0.0,
        **figure_data(plan.still),
        "feet": [{"foot": limb} for limb in ("RH", "LH", "RF", "LF")],
        "key_poses": [as_values(key) for key in plan.clip.key_poses],
        "way": _metres(way),
        "gone_m": _metres(terrain.gone_m),
        "speed_m_s": _metres(plan.speed_m_s),
        "ribbon": packed(_ribbon_m(plan)),
        "ribbon_station_m": STATION * plan.clip.animal.withers_height_m,
        "ribbon_starts_m": -BEYOND * plan.clip.animal.withers_height_m,
        "prints": _prints(plan),
        "stretches": [[each.first_frame, each.last_frame, each.what] for each in plan.stretches],
        "heights": _heights(plan),
        "spots": [[*spot.place_m, spot.says] for spot in plan.marks],
        "path_points": [list(point) for point in points_m],
        "numbers": list(numbers) or _plain_numbers(plan),
        "notices": [notice.text for notice in plan.clip.notices],
        "own": {},
    }


def _metres(values: Array) -> list[object]:
    return list(np.round(values, 4).tolist())


def _ribbon_m(plan: ShotPlan) -> Array:
    """Return the ground along the way: (stations, 3 times the points across). [m]"""
    terrain, size = plan.terrain, plan.clip.animal.withers_height_m
    moves = np.concatenate([[True], np.diff(terrain.gone_m) > 1e-6])
    gone, way = terrain.gone_m[moves], np.column_stack([terrain.place_m[:, :2], terrain.heading_rad])[moves]
    distance = np.arange(-BEYOND * size, gone[-1] + BEYOND * size, STATION * size)
    inside = np.clip(distance, 0.0, gone[-1])
    x, y, heading = (np.interp(inside, gone, way[:, k]) for k in range(3))
    ahead = np.stack([np.cos(heading), np.sin(heading)], axis=1)
    middle = np.stack([x, y], axis=1) + (distance - inside)[:, None] * ahead
    left = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    places = middle[:, None] + size * np.array(ACROSS)[:, None] * left[:, None]
    heights = np.nan_to_num(terrain.ground.known_m(places))
    return np.concatenate([places, heights[..., None]], axis=-1).reshape(len(distance), -1)


def _prints(plan: ShotPlan) -> list[list[object]]:
    """List the prints: limb, first and last frame, outline in metres."""
    steps, rate = plan.clip.steps, plan.clip.frame_rate_hz
    found: list[list[object]] = []
    for k, (limb, outline) in zip(plan.prints, prints_m(plan), strict=True):
        first, last = (float(at[k]) * rate + 1.0 for at in (steps.touchdown_s, steps.liftoff_s))
        corners = np.round(outline[::2], 3)
        height = round(float(steps.place_m[k, 2]), 4)
        found.append([limb, round(first, 2), round(last, 2), corners.ravel().tolist(), height])
    return found


def _heights(plan: ShotPlan) -> list[list[object]]:
    """List lines of equal height around the way, and what is jumped: label, and lines x, y, x, y, ... [m]"""
    places = plan.way_m[:, :2]
    room = np.maximum(PLAN_ROOM, np.ptp(places, axis=0).max())
    low, high = places.min(axis=0) - room, places.max(axis=0) + room
    lines = [(height_label(level), lines) for level, lines in height_lines(plan.ground, low, high)]
    lines += [(fence.says, [fence.corners_m[[0, 1, 2, 3, 0]]]) for fence in plan.fences]
    return [[label, [np.round(line, 2).ravel().tolist() for line in each]] for label, each in lines]


def _plain_numbers(plan: ShotPlan) -> list[tuple[str, str]]:
    """Word what the way says."""
    terrain = plan.terrain
    turn = float(np.degrees(terrain.heading_rad[-1] - terrain.heading_rad[0]))
    return [
        ("frames", f"1 to {plan.clip.frames}"),
        ("way", f"{terrain.ahead_m:.1f} m"),
        ("turns", f"{turn:+.0f}°, to the left above 0"),
        ("fastest", f"{plan.speed_m_s.max():.2f} m/s"),
        ("contacts", f"{len(plan.prints)}"),
    ]


def _numbers(found: ShotReport) -> list[tuple[str, str]]:
    """Word the main numbers of a shot: label and text."""
    fastest = max(part.speed_m_s for part in found.parts)
    return [
        ("frames", f"1 to {found.last_frame}"),
        ("way", f"{found.distance_m:.1f} m"),
        ("turns", f"{found.turn_deg:+.0f}°, to the left above 0"),
        ("climbs", f"{round(found.climb_m, 2) + 0.0:.2f} m"),
        ("fastest", f"{fastest:.2f} m/s"),
        ("contacts", f"{len(found.steps)}"),
        ("hips lowered", f"{1000.0 * found.hips_drop_m:.0f} mm"),
        ("chest lowered", f"{1000.0 * found.chest_drop_m:.0f} mm"),
        ("peak force", f"{found.peak_force_body_weights:.2f} body weights"),
        ("largest slip", f"{1000.0 * found.largest_slip_m:.3f} mm"),
    ]
