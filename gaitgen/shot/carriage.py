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
from gaitgen.animal.mixed import between_gaits, mixed
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.body import Body
from gaitgen.body.trunk import BackPose, Ends, back_of
from gaitgen.body.under import under_ends_m
from gaitgen.course.ground import Ground
from gaitgen.course.path import Path
from gaitgen.course.steps import Steps
from gaitgen.gait.style import Style
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.grid import Grid
from gaitgen.pipeline.carry import Course, carry
from gaitgen.pipeline.solve import solve_body
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.held import Held, leaping
from gaitgen.shot.layers import Layer, layers, under
from gaitgen.shot.near import near
from gaitgen.shot.section import JUMP, Piece
from gaitgen.shot.timeline import Timeline, easing

Array = npt.NDArray[np.float64]

# Parts of a shot whose strides are like those of no cycle.
UNLIKE = ("change", "halt", JUMP)
# A window is solved at this rate, but with at least so many samples in a stance.
WINDOW_HZ, STANCE_SAMPLES = 48.0, 9
LEAP_ROUNDS = 3  # of a window with a leap, in which legs fold and swing far
WINDOW_ROUNDS = 1  # what parts of the body need beside it is carried once; cycles, which repeat, do it better


# What windows came to, by their piece and the rows that count.
Answers = dict[tuple[Piece, tuple[int, int]], Array]


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
    """

    ends: Ends
    back: BackPose
    force_n: Array
    chest_height_m: Array
    hips_height_m: Array


def carriage(
    timeline: Timeline,
    steps: Steps,
    path: Path,
    ground: Ground,
    *,
    changes_only: bool = False,
    also_starts: bool = False,
    held: Held | None = None,
    free: Answers | None = None,
) -> tuple[Carriage, Array]:
    """Find what the body does, and how far it does what its cycles do.

    Parameters
    ----------
    timeline, steps, path, ground
        The shot.
    changes_only
        Whether to find it roughly, without what limbs and hanging parts need beside the body, and only where
        a rhythm changes; elsewhere it stands for its cycle, or is carried level.
    also_starts
        Whether it is found where the animal sets off, too.
    held
        Heights at which the body is held where it is solved.
    free
        Answers of windows in which nothing is held: kept here, and taken from here where the same is asked
        with other heights.

    Returns
    -------
    carriage
        The body.
    as_cycles
        (samples, cycles) how far it is in a cycle as that is.
    """
    grid = timeline.grid
    frame = grid.time_s * timeline.frame_rate_hz
    rises = layers(timeline, path, ground)
    weights = _weights(rises, frame)
    if held is None and timeline.leaps:
        held = leaping(timeline)
    known: Answers = {} if free is None else free
    unlike = (*UNLIKE, "start") if also_starts else UNLIKE
    whole: Array | None = None
    as_cycles = np.zeros((frame.size, len(timeline.cycles)))
    for layer, weight in zip(rises, weights, strict=True):
        is_left_out = changes_only and layer.piece.kind not in unlike
        counts = np.flatnonzero(weight > 0.0)
        if counts.size == 0:
            continue
        first, after = int(counts[0]), int(counts[-1]) + 1
        if layer.kind == "cycle":
            answer = _repeated(timeline, layer.piece, grid.part(first, after), ground, path)
            as_cycles[first:after, layer.piece.cycles[0]] += weight[first:after]
        elif layer.kind == "stand" or is_left_out:
            answer = _standing(timeline, grid.part(first, after), ground, path)
        else:
            rows = (first, after)
            answer = _window(timeline, layer, steps, path, ground, rows, held, known, quick=changes_only)
        if whole is None:
            whole = np.zeros((frame.size, answer.shape[1]))
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
        body.back.turns_rad.reshape(count, -1),
    )
    return np.concatenate(columns, axis=1)


def _unpacked(animal: Animal, whole: Array) -> Carriage:
    count = whole.shape[0]
    turns = whole[:, 20:].reshape(count, -1, 3)
    return Carriage(
        ends=Ends(whole[:, 0:3], whole[:, 3], whole[:, 4]),
        back=back_of(animal, turns, whole[:, 5]),
        force_n=whole[:, 8:20].reshape(count, 4, 3),
        chest_height_m=whole[:, 6],
        hips_height_m=whole[:, 7],
    )


def _of_body(body: Body) -> Array:
    return _of(Carriage(body.ends, body.back, body.balance.force_n, body.chest_height_m, body.hips_height_m))


def _repeated(timeline: Timeline, piece: Piece, grid: Grid, ground: Ground, path: Path) -> Array:
    """Repeat a cycle from the start of its piece, also before it and after it."""
    cycle = timeline.cycles[piece.cycles[0]]
    own = cycle.solved.course.grid
    table = _of_body(cycle.solved.body)
    answer = at_phase(own, table, grid.time_s - piece.first / timeline.frame_rate_hz)
    first, _ = under(timeline, piece)
    height = float(ground.height_m(path.at(np.array(first))[0]))
    answer[:, [2, 4]] += height
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
    )


def _window(
    timeline: Timeline,
    layer: Layer,
    steps: Steps,
    path: Path,
    ground: Ground,
    rows: tuple[int, int],
    held: Held | None,
    free: Answers,
    *,
    quick: bool,
) -> Array:
    """Solve a window, and return its rows that count."""
    grid = timeline.grid
    frame = grid.time_s * timeline.frame_rate_hz
    first = min(int(np.searchsorted(frame, layer.span[0])), rows[0])
    after = max(int(np.searchsorted(frame, layer.span[1])), rows[1])
    a, b = (timeline.cycles[k] for k in layer.piece.cycles)
    whole = grid.part(first, after)
    shortest_s = min(float(c.down.min()) for c in (a, b)) / timeline.frame_rate_hz
    every = max(1, int(shortest_s / (STANCE_SAMPLES * grid.step_s)))
    every = min(every, max(1, round(1.0 / (WINDOW_HZ * grid.step_s))))
    part = Grid(whole.start_s, whole.step_s * every, -(-whole.count // every) + 1, is_periodic=False)
    held_here = None if held is None else held.at(grid.time_s, part.time_s)
    if held_here is None and (layer.piece, rows) in free:
        return free[layer.piece, rows]
    course = Course(_between(a, b), near(steps, part), path, part, ground, held=held_here)
    with np.errstate(invalid="ignore"):
        rounds = 0 if quick else LEAP_ROUNDS if layer.piece.kind == JUMP else WINDOW_ROUNDS
        body = solve_body(course, _style(a, b), np.zeros(part.count), rounds)
    here = grid.time_s[rows[0] : rows[1]]
    answer = _of_body(body)
    if not np.isfinite(answer).all():  # legs that miss by more than a trunk say nothing of their needs
        answer = _of_body(carry(course, _style(a, b)).body)
    answer = (
        CubicSpline(part.time_s, answer)(here) if every > 1 else answer[rows[0] - first : rows[1] - first]
    )
    if held_here is None:
        free[layer.piece, rows] = answer
    return answer


def _between(a: Cycle, b: Cycle) -> Animal:
    return between_gaits(a.animal, b.animal, 0.5)


def _style(a: Cycle, b: Cycle) -> Style:
    return mixed(a.style, b.style, 0.5)
