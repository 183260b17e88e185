"""Hold a style back as far as the joints of the animal ask for it, and say so."""

from __future__ import annotations

from dataclasses import dataclass, field, fields

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.errors import Notice
from gaitgen.gait.gait import Gait
from gaitgen.gait.style import Style
from gaitgen.numerics.rotations import pitch_roll_yaw_rad
from gaitgen.pipeline.placing import MOST_DROP_SHARE, PLAN_SAMPLES, Placed, place_feet
from gaitgen.pipeline.request import Request
from gaitgen.pipeline.solve import Solved, solve_motion

BISECTIONS = 6
# Room left for what the coarse grid misses between its samples.
MARGIN_RAD = np.radians(0.05)


def tempered(skeleton: Animal, gait: Gait, request: Request) -> tuple[Style, Placed, tuple[Notice, ...]]:
    """Place the feet with the style asked for, or with as much of it as keeps every joint in its range.

    All factors are taken towards 1 together until the motion can be solved and no joint leaves its range.

    Raises
    ------
    GaitgenError
        If the request or the gait is not usable.
    """
    asked = request.style
    trial = _Trial(skeleton, gait, request)
    placed, worst = trial.run(asked)
    if worst is None:
        return asked, placed, ()
    if asked == Style():
        text = f"{worst}: the animal is asked for more than its joints allow at this length and speed."
        return asked, placed, (Notice("range", text),)
    low, high, best = 0.0, 1.0, Style()
    kept, blame = trial.run(best)
    for _ in range(BISECTIONS):
        middle = (low + high) / 2.0
        style = _towards_neutral(asked, middle)
        tried, fault = trial.run(style)
        if fault is None:
            low, best, kept, blame = middle, style, tried, None
        else:
            high = middle
    text = f"the style is held to {low:.0%} of the way from neutral to what was asked: beyond that, {worst}."
    notices = [Notice("style", text)]
    if blame is not None:
        notices.append(Notice("range", f"{blame} even in the neutral style."))
    return best, kept, tuple(notices)


def _towards_neutral(style: Style, share: float) -> Style:
    return Style(**{f.name: 1.0 + share * (getattr(style, f.name) - 1.0) for f in fields(style)})


@dataclass(frozen=True, eq=False)
class _Trial:
    """Tries styles on a coarse grid; places the feet anew only where the style moves them."""

    skeleton: Animal
    gait: Gait
    request: Request
    placed: dict[tuple[float, float], Placed] = field(default_factory=dict)

    def run(self, style: Style) -> tuple[Placed, str | None]:
        """Try one style; say what fails."""
        request, key = self.request, (style.bounce, style.reach)
        with np.errstate(invalid="ignore"):
            if key not in self.placed:
                self.placed[key] = place_feet(self.skeleton, self.gait, request, style)
            placed = self.placed[key]
            per = max(2, 2 * PLAN_SAMPLES // request.frames)
            times = np.arange(per * request.frames) / (per * request.frame_rate_hz)
            solved = solve_motion(
                self.skeleton, placed.footfalls, times, times, style, request.settle_strides
            )
            return placed, _fault(self.skeleton, solved)


def _fault(skeleton: Animal, solved: Solved) -> str | None:
    """Name the joint that is farthest outside its range, if any is."""
    matrices = np.stack([solved.local[name] for name in skeleton.joint_names], axis=1)
    if not np.all(np.isfinite(matrices)):
        return "a leg cannot fold or stretch that far"
    if max(solved.drop_m) > MOST_DROP_SHARE * skeleton.withers_height_m + 1e-3:
        return "the trunk would have to sink too far for the legs to reach"
    turns = pitch_roll_yaw_rad(matrices)
    beyond = np.maximum(
        skeleton.ranges_rad[..., 0] - turns.min(axis=0), turns.max(axis=0) - skeleton.ranges_rad[..., 1]
    )
    row, axis = np.unravel_index(int(np.argmax(beyond)), beyond.shape)
    if beyond[row, axis] <= -MARGIN_RAD:
        return None
    name, amount = skeleton.joint_names[row], float(np.degrees(beyond[row, axis]))
    return f"{name} would {('pitch', 'roll', 'yaw')[axis]} {amount:.1f} degrees past its range"
