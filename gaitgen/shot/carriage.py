"""What the body does over a shot: cycles where they are as they are, a balance wherever something changes.

The balance of a whole minute would be one programme of thousands of unknowns. Forces a few strides away do
not matter, so it is solved in windows that begin and end a stride early and late, and what they find is
blended.
A cycle that repeats itself straight ahead on level ground is its own answer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.body import Body, Stiff
from gaitgen.body.trunk import BackPose, Ends, back_of
from gaitgen.body.under import under_ends_m
from gaitgen.course.ground import Ground
from gaitgen.course.path import Path
from gaitgen.course.steps import Steps
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.grid import Grid
from gaitgen.shot.held import Held, held_as_cycles, leaping
from gaitgen.shot.layers import Layer, layers, under
from gaitgen.shot.piece import Piece
from gaitgen.shot.section import JUMP
from gaitgen.shot.timeline import Timeline, easing
from gaitgen.shot.windows import Windows

Array = npt.NDArray[np.float64]

# Parts of a shot whose strides are like those of no cycle.
UNLIKE = ("change", "halt", JUMP)
HEIGHTS = slice(6, 8)  # columns of what is laid side by side: heights of chest and hips


@dataclass(frozen=True, eq=False)
class Carriage:
    """The body over the samples of a shot, as the body sees itself.

    Attributes
    ----------
    ends
        Where hips and chest are meant to be.
    back
        The bent back.
    force_n
        (samples, 4, 3) of the ground on each foot. [N]
    chest_height_m, hips_height_m
        (samples,) over standing. [m]
    stiff
        How it would move if it did not bend.
    """

    ends: Ends
    back: BackPose
    force_n: Array
    chest_height_m: Array
    hips_height_m: Array
    stiff: Stiff


def carriage(
    timeline: Timeline,
    steps: Steps,
    path: Path,
    ground: Ground,
    *,
    changes_only: bool = False,
    also_starts: bool = False,
    held: Held | None = None,
    needs: Array | None = None,
    windows: Windows | None = None,
) -> tuple[Carriage, Array]:
    """Find what the body does, and how far it does what its cycles do.

    Parameters
    ----------
    timeline, steps, path, ground
        The shot.
    changes_only
        Whether to find it roughly, and only where a rhythm changes; elsewhere it stands for its cycle, or is
        carried level.
    also_starts
        Whether it is found where the animal sets off, too.
    held
        Heights at which the body is held where it is solved.
    needs
        (samples, 6) what limbs and hanging parts need beside the body, as they were posed over it; None for
        nothing.
    windows
        What solves windows, and keeps them for the next time.

    Returns
    -------
    carriage
        The body.
    as_cycles
        (samples, cycles) how far it is in a cycle as that is.
    """
    grid = timeline.grid
    frame = grid.time_s * timeline.frame_rate_hz
    windows = windows or Windows(timeline, steps, path, ground)
    unlike = (*UNLIKE, "start") if also_starts else UNLIKE
    whole: Array | None = None
    as_cycles = np.zeros((frame.size, len(timeline.cycles)))
    solved: list[tuple[Layer, tuple[int, int], Array]] = []
    rises = layers(timeline, path, ground)
    for layer, weight in zip(rises, _weights(rises, frame), strict=True):
        counts = np.flatnonzero(weight > 0.0)
        if counts.size == 0:
            continue
        first, after = int(counts[0]), int(counts[-1]) + 1
        is_left_out = changes_only and layer.piece.kind not in unlike
        if layer.kind == "window" and not is_left_out:
            solved.append((layer, (first, after), weight))
            continue
        if layer.kind in {"cycle", "cycles"}:
            answer, shares = _as_cycles(timeline, layer, (first, after), ground, path)
            as_cycles[first:after] += weight[first:after, None] * shares
        else:
            answer = _standing(timeline, grid.part(first, after), ground, path)
        whole = np.zeros((frame.size, answer.shape[1])) if whole is None else whole
        whole[first:after] += weight[first:after, None] * answer
    if held is None and timeline.leaps:
        held = leaping(timeline)
    if whole is not None and not changes_only and not timeline.leaps:  # which are held higher right after it
        held = held_as_cycles(held, whole[:, HEIGHTS], as_cycles.sum(axis=1))
    for layer, (first, after), weight in solved:
        body, own = windows.body(layer, (first, after), held, needs, rough=changes_only)
        answer = CubicSpline(own.time_s, _of_body(body))(grid.time_s[first:after])
        whole = np.zeros((frame.size, answer.shape[1])) if whole is None else whole
        whole[first:after] += weight[first:after, None] * answer
    assert whole is not None  # noqa: S101
    whole[:, 10:20:3] = np.maximum(whole[:, 10:20:3], 0.0)  # between samples of a window, a hair under none
    return _unpacked(timeline.cycles[0].animal, whole), as_cycles


def _weights(found: tuple[Layer, ...], frame: Array) -> list[Array]:
    """How far each layer counts: (samples,) each, 1 in all."""
    rises = [easing(frame, layer.rises) for layer in found]
    rises[0] = np.ones(frame.size)
    weights: list[Array] = []
    left = np.ones(frame.size)
    for rise in reversed(rises):
        weights.append(left * rise)
        left = left * (1.0 - rise)
    return weights[::-1]


def _of(body: Carriage) -> Array:
    """Lay all numbers of a body side by side, (samples, numbers), to be blended."""
    count = body.chest_height_m.size
    columns = (
        body.ends.hips_m,
        body.ends.chest_left_m[:, None],
        body.ends.chest_up_m[:, None],
        body.back.pelvis_roll_rad[:, None],
        body.chest_height_m[:, None],
        body.hips_height_m[:, None],
        body.force_n.reshape(count, -1),
        body.stiff.moved_m,
        body.stiff.turned_rad,
        body.stiff.base_m[:, None],
        body.back.turns_rad.reshape(count, -1),
    )
    return np.concatenate(columns, axis=1)


def _unpacked(animal: Animal, whole: Array) -> Carriage:
    count = whole.shape[0]
    turns = whole[:, 27:].reshape(count, -1, 3)
    return Carriage(
        ends=Ends(whole[:, 0:3], whole[:, 3], whole[:, 4]),
        back=back_of(animal, turns, whole[:, 5]),
        force_n=whole[:, 8:20].reshape(count, 4, 3),
        chest_height_m=whole[:, 6],
        hips_height_m=whole[:, 7],
        stiff=Stiff(whole[:, 20:23], whole[:, 23:26], whole[:, 26]),
    )


def _of_body(body: Body) -> Array:
    """Lay the numbers of a body side by side; one of a loop is as high as its ends say."""
    stiff = body.stiff
    chest, hips = body.footing.wanted.ends_x_m
    pitch = (body.chest_height_m - body.hips_height_m) / (chest - hips)
    moved, turned = stiff.moved_m.copy(), stiff.turned_rad.copy()
    moved[:, 2], turned[:, 1] = body.chest_height_m - chest * pitch, pitch
    heights = body.chest_height_m, body.hips_height_m
    own = Stiff(moved, turned, stiff.base_m)
    return _of(Carriage(body.ends, body.back, body.balance.force_n, *heights, own))


def _as_cycles(
    timeline: Timeline, layer: Layer, rows: tuple[int, int], ground: Ground, path: Path
) -> tuple[Array, Array]:
    """Repeat a cycle, or two as far as each counts: (samples, numbers), and (samples, cycles) how far."""
    (first, after), piece = rows, layer.piece
    grid = timeline.grid.part(first, after)
    a, b = piece.cycles
    shares = np.zeros((after - first, len(timeline.cycles)))
    if layer.kind == "cycle":
        shares[:, a] = 1.0
        return _repeated(timeline, piece, a, piece.first, grid, ground, path), shares
    shares[:, [a, b]] = timeline.solved_share[first:after, [a, b]]
    shares[:, b] = 1.0 - shares[:, a]
    one, other = (
        _repeated(timeline, piece, number, at, grid, ground, path)
        for number, at in ((a, piece.first), (b, piece.after))
    )
    return one + shares[:, [b]] * (other - one), shares


def _repeated(
    timeline: Timeline, piece: Piece, number: int, at: int, grid: Grid, ground: Ground, path: Path
) -> Array:
    """Repeat a cycle from the frame at which a stride of it begins, also before and after its piece."""
    cycle = timeline.cycles[number]
    own = cycle.solved.course.grid
    table = _of_body(cycle.solved.body)
    answer = at_phase(own, table, grid.time_s - at / timeline.frame_rate_hz)
    first, _ = under(timeline, piece)
    height = float(ground.height_m(path.at(np.array(first))[0]))
    answer[:, [2, 4, 26]] += height
    return answer


def at_phase(own: Grid, table: Array, time_s: Array) -> Array:
    """Follow curves (samples, ...) of one stride, which repeat, at any moments. [s]"""
    spline = CubicSpline(
        np.append(own.time_s, own.start_s + own.span_s),
        np.concatenate([table, table[:1]]),
        bc_type="periodic",
    )
    return np.asarray(spline(own.start_s + (time_s - own.start_s) % own.span_s))


def _standing(timeline: Timeline, grid: Grid, ground: Ground, path: Path) -> Array:
    """Stand square and still."""
    return _of(level(timeline.cycles[0].animal, path, ground, grid, np.full((grid.count, 4), 0.5)))


def level(animal: Animal, path: Path, ground: Ground, grid: Grid, hand_over: Array) -> Carriage:
    """Carry the body as it stands, straight, over the ground.

    Parameters
    ----------
    animal, path, ground, grid
        Who goes where, and when.
    hand_over
        (samples, 4) share of each foot in the load of its end.
    """
    standing = standing_positions_m(animal)
    hip, top = (standing[animal.limb(end).top] for end in ("hind", "fore"))
    chest, hips = under_ends_m(animal, path, ground, grid).T
    share = animal.load_share_fore
    force = np.zeros((grid.count, 4, 3))
    weight = animal.body_mass_kg * GRAVITY_M_S2
    force[..., 2] = hand_over * np.array([share, share, 1.0 - share, 1.0 - share]) * weight
    zero = np.zeros(grid.count)
    turns = np.zeros((grid.count, len(animal.spine) - 1, 3))
    return Carriage(
        ends=Ends(np.stack([zero + hip[0], zero, hip[2] + hips], axis=1), zero, top[2] + chest),
        back=back_of(animal, turns, zero),
        force_n=force,
        chest_height_m=zero,
        hips_height_m=zero,
        stiff=Stiff(np.zeros((grid.count, 3)), np.zeros((grid.count, 3)), (chest + hips) / 2.0),
    )
