"""A shot as the page plays it: the figure seen from its way, the ground along that, prints and the plan."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.motion.report import as_values
from gaitgen.page.clip_data import figure_data, whole
from gaitgen.pictures.plan_view import height_label, height_lines, prints_m
from gaitgen.pictures.shot_plan import ShotPlan
from gaitgen.pictures.terrain import known_height_m
from gaitgen.shot.make import Made
from gaitgen.shot.report import ShotReport, shot_report
from gaitgen.shot.seen import plan_of

Array = npt.NDArray[np.float64]

# The ground along the way, in withers heights: how far apart its stations are, how far it goes on before the
# start and after the end, and where across it points are; heights are known so far around, at least. [m]
STATION, BEYOND = 0.08, 2.2
ACROSS = (-0.5, -0.25, 0.0, 0.25, 0.5)
PLAN_ROOM = 4.0


def shot_data(made: Made, name: str, points_m: Sequence[tuple[float, float]] = ()) -> dict[str, object]:
    """Lay out everything the page draws and prints of a shot.

    Parameters
    ----------
    made
        The shot.
    name
        Its name.
    points_m
        The points of its path. [m]

    Returns
    -------
    dict
        As of `clip_data`, the figure as seen from the frame that goes along the way. Beside it ``way``
        (frames, 4): place, height and heading of that frame; ``gone_m`` (frames,); ``ribbon``: the ground
        along the way, (stations, 5 points across it, 3); ``prints``: foot, first and last frame, outline and
        height of each; ``stretches``: what happens from frame to frame; ``heights``: lines of equal height.
        Places in the world are metres.
    """
    plan = plan_of(made)
    found = shot_report(made)
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
        "ribbon": whole(_ribbon_m(made)),
        "ribbon_station_m": STATION * plan.clip.animal.withers_height_m,
        "ribbon_starts_m": -BEYOND * plan.clip.animal.withers_height_m,
        "prints": _prints(plan),
        "stretches": [[each.first_frame, each.last_frame, each.what] for each in plan.stretches],
        "heights": _heights(plan),
        "path_points": [list(point) for point in points_m],
        "numbers": _numbers(found),
        "notices": [notice.text for notice in plan.clip.notices],
        "own": {},
    }


def _metres(values: Array) -> list[object]:
    return list(np.round(values, 4).tolist())


def _ribbon_m(made: Made) -> Array:
    """Return the ground along the way: (stations, 3 times the points across). [m]"""
    animal = made.clip.animal
    size = animal.withers_height_m
    seconds = np.array([0.0, (made.clip.frames - 1) / made.clip.frame_rate_hz])
    first, last = made.path.distance_m(seconds) + np.array([-BEYOND, BEYOND]) * size
    distance = np.arange(first, last, STATION * size)
    across = size * np.array(ACROSS)
    along, aside = np.meshgrid(distance, across, indexing="ij")
    places, _ = made.path.beside(along, aside)
    heights = np.nan_to_num(known_height_m(made.ground, places))
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
    """List lines of equal height around the way: label, and each line as x, y, x, y, ... [m]"""
    places = plan.way_m[:, :2]
    room = np.maximum(PLAN_ROOM, np.ptp(places, axis=0).max())
    low, high = places.min(axis=0) - room, places.max(axis=0) + room
    return [
        [height_label(level), [np.round(line, 2).ravel().tolist() for line in lines]]
        for level, lines in height_lines(plan.terrain.ground, low, high)
    ]


def _numbers(found: ShotReport) -> list[tuple[str, str]]:
    """Word the main numbers of a shot: label and text."""
    fastest = max(part.speed_m_s for part in found.parts)
    return [
        ("frames", f"1 to {found.last_frame}"),
        ("way", f"{found.distance_m:.1f} m"),
        ("turns", f"{found.turn_deg:+.0f}°, to the left above 0"),
        ("climbs", f"{found.climb_m + 0.0:.2f} m"),
        ("fastest", f"{fastest:.2f} m/s"),
        ("contacts", f"{len(found.steps)}"),
        ("hips lowered", f"{1000.0 * found.hips_drop_m:.0f} mm"),
        ("chest lowered", f"{1000.0 * found.chest_drop_m:.0f} mm"),
        ("peak force", f"{found.peak_force_body_weights:.2f} body weights"),
        ("largest slip", f"{1000.0 * found.largest_slip_m:.3f} mm"),
    ]
