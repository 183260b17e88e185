"""A body that moves over its planted feet and takes them along: the fault is the body's, not the feet's."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.bobbing import bobbing
from gaitgen.check.findings.sinking import sinking_together
from gaitgen.check.findings.slides import every_slide
from gaitgen.check.seen import STANDS_OUT, Seen

Array = npt.NDArray[np.float64]

ALIKE, MUCH_ALIKE = (
    0.5,
    0.2,
)  # of the energy of the steps of planted feet: what they have not in common may be so much
EXPLAINED = 0.3  # of the common motion's energy: what another timing of the root may leave over
# What the least of several timings may leave over beyond the best, of what that explains; frames about it.
ALIKE_LATE, LATE_NEAR = 0.02, 1
STILLER = 0.35  # of the feet's unrest: what another timing of the hips must leave to be believed
# Feet that are down but stand for less than this share of it slide with the body; so near the ground is down.
STAYS, HARDLY, LOW_SHARE = 0.6, 0.85, 0.008
MOST_TRIED = 4_000_000  # shifts times frames; bounds memory
AXES = ("along", "aside", "up")


def hips_late(seen: Seen) -> list[Finding]:
    """Find a body whose rise and fall is late: at another moment its feet would stand still.

    It does not ask when feet stand, for a body that goes up and down over them hides that.
    """
    n = seen.loop.frames
    if not seen.loop.closes or n < 8 or not len(_shifts(seen, n)):
        return []
    root = seen.motion.root_m[:n, 2]
    shifts = _shifts(seen, n)
    apart = root - np.stack([np.roll(root, -by) for by in shifts])  # (shifts, frames)
    heights = seen.motion.toes_m[:n, :, 2] - apart[..., None]  # (shifts, frames, feet)
    low = np.sort(heights, axis=1)[:, : n // 2]
    unrest = (low - low[:, :1]).mean(axis=(1, 2))  # (shifts,) of the lower half of each foot's heights
    best = int(unrest.argmin())
    if best == 0 or unrest[best] > STILLER * unrest[0]:
        return []
    by = _least_late(unrest, best, unrest[0])
    row = int(np.abs(apart[best]).argmax())
    return seen.finding(
        "hips out of turn",
        "hips",
        (0, seen.motion.frames - 1),
        1000.0 * float(np.abs(apart[best, row])),
        f"move the root's rise and fall {_frames(by)}: there its feet would stand",
        noise=2.0 * 1000.0 * float(seen.noise.toe_m[:, 2].max()),
        limit_name="body_over_feet",
        joint=seen.motion.file.joint_names[0],
    )


def _shifts(seen: Seen, frames: int) -> range:
    """Frames by which a curve may be late: up to a stride; none in a clip too long to try them."""
    most = frames if seen.gait is None else min(frames, round(seen.gait.period))
    return range(most if most * frames < MOST_TRIED else 0)


def _frames(late: int) -> str:
    word = "earlier" if late > 0 else "later"
    return f"{abs(late)} frame{'s' if abs(late) > 1 else ''} {word}"


def body_over_feet(seen: Seen) -> list[Finding]:
    """Find a body whose planted feet all go the same way with it, and whether its curve is only late."""
    bobs = bobbing(seen)
    if bobs:
        return bobs
    common, steps, is_shared = _common_m(seen)
    if not is_shared.any():
        return _sliding_together(seen) or sinking_together(seen)
    found: list[Finding] = []
    size = np.where(is_shared, np.ptp(common, axis=0), 0.0)
    axis = int(size.argmax())
    path = common[:, axis] - np.median(common[:, axis])
    sigma = 1000.0 * float(seen.noise.toe_m[:, axis].max())
    far = np.abs(path)
    if not far.max() > 0.0:
        return []  # nothing moves
    busy = np.flatnonzero(far > 0.5 * far.max())
    root = seen.motion.file.joint_names[0]
    late = _late(seen, steps[:, axis], axis)
    if late is not None:
        kind = "hips out of turn" if axis == 2 else "body out of turn"
        return seen.finding(
            kind,
            "hips" if axis == 2 else "whole body",
            (0, seen.motion.frames - 1),
            1000.0 * float(size[axis]),
            f"move the root's curve {AXES[axis]} {_frames(late)}, to where its feet have it",
            noise=sigma,
            limit_name="body_over_feet",
            joint=root,
        )
    found += _moves(seen, (int(busy[0]), int(busy[-1])), 1000.0 * float(size[axis]), AXES[axis], sigma)
    return found or _sliding_together(seen) or sinking_together(seen)


def _moves(
    seen: Seen, rows: tuple[int, int], size_mm: float, way: str, sigma_mm: float = 0.0
) -> list[Finding]:
    """Find that a body moves between two rows, some way, and its planted feet with it."""
    return seen.finding(
        "body moves over planted feet",
        "whole body",
        rows,
        size_mm,
        f"the root goes {way} and takes all planted feet with it: mend the root's curve, or keep the feet "
        "where they are",
        noise=sigma_mm,
        limit_name="body_over_feet",
        joint=seen.motion.file.joint_names[0],
    )


def _sliding_together(seen: Seen) -> list[Finding]:
    """Find a body that moves so far in a few frames that no feet are found to stand there."""
    slides = [slide for slide in every_slide(seen) if slide.takes_all]
    if not slides:
        return []
    worst = max(slides, key=lambda slide: slide.far_m)
    return _moves(seen, (worst.first, worst.last), 1000.0 * worst.far_m, "over the ground")


def _common_m(seen: Seen) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
    """Return what planted feet do in common; feet that are down, where hardly any is found to stand.

    Returns
    -------
    common
        (frames, 3) path. [m]
    steps
        (frames - 1, 3) its steps; nan where fewer than two feet tell. [m]
    is_shared
        (3,) whether they have it in common.
    """
    frames = seen.motion.frames
    low = _low(seen)
    if seen.shot is None and _stays(seen, low) < STAYS:
        return _in_common(_on_plane(seen, low))
    low &= seen.feet.planted | ~_beside_stances(seen)
    if seen.shot is None and _stays(seen, low) < HARDLY:
        found = _in_common(_on_plane(seen, low), is_of_all=True, alike=MUCH_ALIKE)
        if seen.noise.angle_deg == 0.0 and found[2].any():  # in a noisy clip low swings look so too
            return found
    away = np.full((frames, 4, 3), np.nan)
    for stance in seen.feet.stances:
        rows = np.arange(stance.first, stance.last + 1)
        here = rows % seen.loop.frames if seen.loop.closes else rows
        away[here, stance.limb] = stance.path_m
    runs = seen.gait is not None and not seen.gait.walks
    return _in_common(away, is_of_all=runs or seen.shot is not None)


def _stays(seen: Seen, low: npt.NDArray[np.bool_]) -> float:
    """Return the share of feet that stand among those that are down, ``low`` (frames, 4)."""
    return float(seen.feet.planted.sum() / max(1, low.sum()))


def _on_plane(seen: Seen, low: npt.NDArray[np.bool_]) -> Array:
    """Return places (frames, 4, 3) of feet that are down, without their heights; nan for others. [m]"""
    return np.asarray(np.where(low[..., None], seen.motion.toes_m, np.nan) * [1.0, 1.0, 0.0])


def _beside_stances(seen: Seen) -> npt.NDArray[np.bool_]:
    """Rows (frames, 4) next to one in which the foot stands: it leaves or lands there, and may be low yet."""
    planted = seen.feet.planted
    beside = np.zeros_like(planted)
    beside[1:] |= planted[:-1]
    beside[:-1] |= planted[1:]
    if seen.loop.closes:
        beside[0] |= planted[-1]
        beside[-1] |= planted[0]
    return beside


def _low(seen: Seen) -> npt.NDArray[np.bool_]:
    """Whether feet (frames, 4) are down on the ground, be it that they stand or slide."""
    slack = LOW_SHARE * seen.motion.hip_height_m + STANDS_OUT * seen.noise.toe_m[:, 2]
    return np.asarray(np.abs(seen.motion.toes_m[..., 2] - seen.feet.ground_m) < slack)


def _in_common(
    away: Array, *, is_of_all: bool = False, alike: float = ALIKE
) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
    """Return what paths (frames, 4, 3) of feet have in common, as _common_m does. [m]

    It is the middle of their steps, or no more than what all of them make: where only two feet are down, the
    middle of one that slides and one that stands is not what they have in common.
    """
    frames = len(away)
    steps = np.diff(away, axis=0)  # (steps, feet, axes); a stance that goes round has its seam left out
    count = np.isfinite(steps[..., 0]).sum(axis=1)
    enough = count >= 2
    if not enough.any():
        return np.zeros((frames, 3)), np.full((frames - 1, 3), np.nan), np.zeros(3, dtype=bool)
    middle, of_all = np.zeros((frames - 1, 3)), enough if is_of_all else count == 2
    middle[of_all] = _least(steps[of_all], axis=1)
    middle[enough & ~of_all] = np.nanmedian(steps[enough & ~of_all], axis=1)
    middle[~enough] = middle[enough].mean(
        axis=0
    )  # in place all feet go back under the body: unknown steps too
    left_over = np.nansum((steps[enough] - middle[enough][:, None]) ** 2, axis=(0, 1))
    energy = np.nansum(steps[enough] ** 2, axis=(0, 1))
    shared = left_over < alike * np.maximum(energy, 1e-18)
    common = np.concatenate([np.zeros((1, 3)), np.cumsum(middle, axis=0)])
    slope = np.linspace(0.0, 1.0, frames)[:, None] * (common[-1] - common[0])
    return common - slope, np.where(enough[:, None], middle, np.nan), shared


def _least(steps: Array, axis: int) -> Array:
    """Return the least of steps that go the same way, 0 where they do not; nan does not count."""
    low, high = np.nanmin(steps, axis=axis), np.nanmax(steps, axis=axis)
    return np.where(low > 0.0, low, np.where(high < 0.0, high, 0.0))


def _late(seen: Seen, steps: Array, axis: int) -> int | None:
    """Frames by which the root's curve is late, if that alone explains what the feet do in common.

    ``steps`` (frames - 1,) are those of the feet; nan where nobody knows. [m]
    """
    n = seen.loop.frames
    if not seen.loop.closes or n < 8 or len(steps) < n:
        return None
    root = seen.motion.root_m[:, axis]
    root = (root - np.linspace(0.0, 1.0, len(root)) * (root[-1] - root[0]))[:n]
    own = np.diff(root, append=root[:1])
    wanted = steps[:n]
    known = np.isfinite(wanted)
    wanted = wanted[known] - wanted[known].mean()
    energy = float((wanted**2).sum())
    if energy <= 0.0 or known.sum() < n // 2:
        return None
    shifts = _shifts(seen, n)[1:]
    if not len(shifts):
        return None
    tried = np.stack([own - np.roll(own, -by) for by in shifts])[:, known]  # (shifts, steps)
    left_over = ((tried - tried.mean(axis=1, keepdims=True) - wanted) ** 2).sum(axis=1)
    best = int(left_over.argmin())
    if float(left_over[best]) > EXPLAINED * energy:
        return None
    return _least_late(np.concatenate([[energy], left_over]), best + 1, energy)


def _least_late(left_over: Array, best: int, at_first: float) -> int:
    """Of shifts of 0 to a stride's frames that leave hardly more over than the best, return the least.

    A curve that comes again, as rise and fall do with each step, is mended by several; one that goes to and
    fro once a stride by one alone.
    """
    frames = len(left_over)
    alike = np.flatnonzero(left_over <= left_over[best] + ALIKE_LATE * (at_first - left_over[best]))
    alike = alike[alike > 0]
    signed = np.where(alike > frames / 2.0, alike - frames, alike)
    near = signed[np.abs(signed) <= np.abs(signed).min() + LATE_NEAR]
    return int(near[left_over[near % frames].argmin()])
