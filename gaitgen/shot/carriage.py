"""What the body does over a shot: cycles where they are as they are, a balance wherever something changes.

The balance of a whole minute would be one programme of thousands of unknowns. Forces a few strides away do
not matter, so it is solved in windows that begin and end a stride early and late, and what they find is
blended.
A cycle that repeats itself straight ahead on level ground is its own answer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import groupby, pairwise

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
from gaitgen.pipeline.solve import solve_motion
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.on_the_spot import PIVOTS
from gaitgen.shot.rhythm import STEADY_STRIDES
from gaitgen.shot.section import SHIFT_S, Piece
from gaitgen.shot.timeline import Timeline, easing

Array = npt.NDArray[np.float64]

# Strides that a window begins early and ends late; what is solved there is not used.
MARGIN_STRIDES, MARGIN_S = 1.25, 0.8
# Parts of a shot whose strides are like those of no cycle.
UNLIKE = ("change", "halt")
# Strides of one window, where a passage is long and not straight and level.
WINDOW_STRIDES = 4
# A window is solved at this rate, but with at least so many samples in a stance.
WINDOW_HZ, STANCE_SAMPLES = 48.0, 9
WINDOW_ROUNDS = 1  # what parts of the body need beside it is carried once; cycles, which repeat, do it better
LEAST_PLAIN = 3  # strides in a row that go straight ahead on level ground, for them to be their cycle
# So long an animal goes over from standing to moving, in what the balance finds. [s]
STAND_S = 0.35
# Places along the path at which it is looked whether it is straight and level. [m]
LOOK_M = 0.25


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


@dataclass(frozen=True, eq=False)
class Held:
    """Heights of chest and hips over standing at the samples of a shot, (samples, 2). [m]

    Attributes
    ----------
    height_m, share
        Where they are held, and how far they are, 0 to 1.
    """

    height_m: Array
    share: Array

    def at(self, own_s: Array, time_s: Array) -> tuple[Array, Array] | None:
        """Look both up at other moments, from its own; None where nothing is held."""
        height, share = (
            np.stack([np.interp(time_s, own_s, column) for column in table.T], axis=1)
            for table in (self.height_m, self.share)
        )
        return (height, share) if share.max() > 0.0 else None


@dataclass(frozen=True, eq=False)
class Layer:
    """One answer, and from when on it counts; it counts until the next one does.

    Attributes
    ----------
    kind
        ``stand``, ``cycle`` or ``window``.
    piece
        What of the timeline it is for.
    rises
        First and last moment of going over to it from the one before. [frames]
    span
        First and last moment of a window. [frames]
    """

    kind: str
    piece: Piece
    rises: tuple[float, float]
    span: tuple[float, float] = (0.0, 0.0)


def layers(timeline: Timeline, path: Path, ground: Ground) -> tuple[Layer, ...]:
    """Choose for each part of a shot where its answer comes from."""
    rate = timeline.frame_rate_hz
    found: list[Layer] = []
    for piece in timeline.pieces:
        before, after = (timeline.cycles[k].frames for k in piece.cycles)
        first, last = float(piece.first), float(piece.after)
        early = first + STEADY_STRIDES * before
        span = first - MARGIN_STRIDES * before, last + MARGIN_STRIDES * after
        if piece.kind == "stand":
            if is_level(ground, path, timeline, piece):
                found.append(Layer("stand", piece, (first - STAND_S * rate, first)))
            else:
                found.append(
                    Layer("window", piece, (first - STAND_S * rate, first), _around(piece, timeline))
                )
        elif piece.kind in PIVOTS:
            span = first - MARGIN_S * rate, last + MARGIN_S * rate
            found += _windows(piece, (first, first + SHIFT_S * rate), span, before)
        elif piece.kind == "start":
            span = first - MARGIN_S * rate, span[1]
            found += _windows(piece, (first, first + SHIFT_S * rate), span, after)
        elif piece.kind == "halt":
            span = span[0], last + MARGIN_S * rate
            found += _windows(piece, (first, early), span, before)
        elif piece.kind == "change":
            found += _windows(piece, (first, early), span, max(before, after))
        else:
            found += _steady(piece, timeline, path, ground)
    return tuple(found)


def _steady(piece: Piece, timeline: Timeline, path: Path, ground: Ground) -> list[Layer]:
    """Take a passage as its cycle where it goes straight ahead on level ground, and solve the rest."""
    stride = timeline.cycles[piece.cycles[0]].frames
    over, margin = STEADY_STRIDES * stride, MARGIN_STRIDES * stride
    found = []
    for part, plain in _parts(piece, stride, timeline, path, ground):
        first, last = float(part.first), float(part.after)
        starts = part.first == piece.first
        if plain:
            found.append(Layer("cycle", part, (first - over, first) if starts else (first, first + over)))
        else:
            found += _windows(part, (first - over, first), (first - over - margin, last + margin), stride)
    return found


def _parts(
    piece: Piece, stride: int, timeline: Timeline, path: Path, ground: Ground
) -> list[tuple[Piece, bool]]:
    """Cut a passage where it begins or ends to be plain, on whole strides; short plain parts are none."""
    cuts = list(range(piece.first, piece.after + 1, stride))
    strides = [replace(piece, first=a, after=b) for a, b in pairwise(cuts)] or [piece]
    parts: list[tuple[Piece, bool]] = []
    for plain, group in groupby(strides, lambda each: is_plain(ground, path, timeline, each)):
        run = list(group)
        whole = replace(run[0], after=run[-1].after)
        is_cycle = plain and (len(run) >= LEAST_PLAIN or len(run) == len(strides))
        if parts and parts[-1][1] == is_cycle:
            whole = replace(parts.pop()[0], after=whole.after)
        parts.append((whole, is_cycle))
    return parts


def _around(piece: Piece, timeline: Timeline) -> tuple[float, float]:
    """Return a stand and a margin beside it that cuts no step: half of one would bear anything."""
    margin, laid = MARGIN_S * timeline.frame_rate_hz, timeline.stances
    first, last = piece.first - margin, piece.after + margin
    cut_early = (laid.touchdown < first) & (first < laid.liftoff) & (laid.liftoff < piece.first)
    cut_late = (piece.after < laid.touchdown) & (laid.touchdown < last) & (last < laid.liftoff)
    begins = laid.liftoff[cut_early].max(initial=first)
    return float(begins), float(laid.touchdown[cut_late].min(initial=last))


def _windows(piece: Piece, rises: tuple[float, float], span: tuple[float, float], stride: int) -> list[Layer]:
    """Cut a long piece into windows of a few strides, the first of which rises, and all of which span, so."""
    count = max(1, round((piece.after - piece.first) / (WINDOW_STRIDES * stride)))
    cuts = np.linspace(piece.first, piece.after, count + 1)
    margin, over = MARGIN_STRIDES * stride, STEADY_STRIDES * stride
    found = []
    for k, (cut, end) in enumerate(pairwise(cuts)):
        begins = span[0] if k == 0 else cut - over - margin
        ends = span[1] if k == count - 1 else end + margin
        found.append(Layer("window", piece, rises if k == 0 else (cut - over, cut), (begins, ends)))
    return found


def _under(timeline: Timeline, piece: Piece) -> tuple[float, float]:
    """How far along the path the body is at the start and the end of a piece. [m]"""
    ends = np.array([piece.first, piece.after]) / timeline.frame_rate_hz
    first, last = timeline.pace.distance_m(ends)
    return float(first), float(last)


def is_level(ground: Ground, path: Path, timeline: Timeline, piece: Piece) -> bool:
    """Tell whether the ground is level under a piece, a body's length before, after and beside it too."""
    first, last = _under(timeline, piece)
    room = timeline.cycles[0].animal.withers_height_m
    along = np.arange(first - room, last + room + LOOK_M, LOOK_M)
    place_m, heading_rad, _ = path.at(along)
    left = np.stack([-np.sin(heading_rad), np.cos(heading_rad)], axis=-1)
    beside_m = place_m + room * np.array([-1.0, 0.0, 1.0])[:, None, None] * left
    heights = ground.known_m(beside_m)  # beside the way there may be none
    return bool(np.isfinite(heights[1]).all() and np.nanmax(heights) - np.nanmin(heights) < 1e-9)


def is_plain(ground: Ground, path: Path, timeline: Timeline, piece: Piece) -> bool:
    """Tell whether a cycle repeats itself as it is: straight ahead on level ground, no foot elsewhere."""
    laid = timeline.stances
    touches = (laid.touchdown <= piece.after) & (laid.liftoff >= piece.first)
    if (laid.moved & touches).any():
        return False
    if not is_level(ground, path, timeline, piece):
        return False
    first, last = _under(timeline, piece)
    room = timeline.cycles[0].animal.withers_height_m
    along = np.arange(first - room, last + room + LOOK_M, LOOK_M)
    return bool(np.all(path.at(along)[2] == 0.0))


def carriage(
    timeline: Timeline,
    steps: Steps,
    path: Path,
    ground: Ground,
    *,
    changes_only: bool = False,
    held: Held | None = None,
) -> tuple[Carriage, Array]:
    """Find what the body does, and how far it does what its cycles do.

    Parameters
    ----------
    timeline, steps, path, ground
        The shot.
    changes_only
        Whether to find it roughly, without what limbs and hanging parts need beside the body, and only where
        a rhythm changes; elsewhere it stands for its cycle, or is carried level.
    held
        Heights at which the body is held where it is solved.

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
    whole: Array | None = None
    as_cycles = np.zeros((frame.size, len(timeline.cycles)))
    for layer, weight in zip(rises, weights, strict=True):
        is_left_out = changes_only and layer.piece.kind not in UNLIKE
        rows = np.flatnonzero(weight > 0.0)
        if rows.size == 0:
            continue
        first, after = int(rows[0]), int(rows[-1]) + 1
        if layer.kind == "cycle":
            answer = _repeated(timeline, layer.piece, grid.part(first, after), ground, path)
            as_cycles[first:after, layer.piece.cycles[0]] += weight[first:after]
        elif layer.kind == "stand" or is_left_out:
            answer = _standing(timeline, grid.part(first, after), ground, path)
        else:
            answer = _window(timeline, layer, steps, path, ground, (first, after), held, quick=changes_only)
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
    first, _ = _under(timeline, piece)
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
    course = Course(_between(a, b), _near(steps, part), path, part, ground, held=held_here)
    with np.errstate(invalid="ignore"):
        body = (
            carry(course, _style(a, b)).body
            if quick
            else solve_motion(course, _style(a, b), np.zeros(part.count), rounds=WINDOW_ROUNDS).body
        )
    here = grid.time_s[rows[0] : rows[1]]
    answer = _of_body(body)
    return answer[rows[0] - first : rows[1] - first] if every == 1 else CubicSpline(part.time_s, answer)(here)


def _between(a: Cycle, b: Cycle) -> Animal:
    return between_gaits(a.animal, b.animal, 0.5)


def _style(a: Cycle, b: Cycle) -> Style:
    return mixed(a.style, b.style, 0.5)


def _near(steps: Steps, grid: Grid) -> Steps:
    """Keep the stances in a window and one before and after; those that last are cut to what is near."""
    first, last = grid.time_s[0], grid.time_s[-1]
    keep = np.zeros(steps.limb.size, dtype=np.bool_)
    for limb in range(4):
        mine = np.flatnonzero(steps.limb == limb)
        inside = np.flatnonzero((steps.liftoff_s[mine] >= first) & (steps.touchdown_s[mine] <= last))
        if inside.size == 0:
            inside = np.array([np.searchsorted(steps.touchdown_s[mine], first) - 1])
        low, high = max(inside[0] - 1, 0), min(inside[-1] + 2, mine.size)
        keep[mine[low:high]] = True
    room = grid.span_s
    lands, lifts = steps.touchdown_s[keep], steps.liftoff_s[keep]
    return Steps(
        limb=steps.limb[keep],
        touchdown_s=np.where(lifts > first, np.maximum(lands, first - room), lands),
        liftoff_s=np.where(lands < last, np.minimum(lifts, last + room), lifts),
        place_m=steps.place_m[keep],
        heading_rad=steps.heading_rad[keep],
        normal=steps.normal[keep],
    )
