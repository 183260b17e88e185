"""Draw every animal without flesh, joints and bones alone, at its walk and its fastest gait, without names.

Whoever looks at the pages writes down what each row is, and then opens the key: do build and motion alone
tell the animal? All are drawn about as large, so that size tells nothing.

Run: PYTHONPATH=.:tests python tests/bench/stick_figures.py FOLDER [--seed N] [--legs] [--animals ANIMAL ...]
With --legs neck, head, tail and all that hangs are left out: back and legs alone are harder to tell.
It writes FOLDER/walks_1.png, FOLDER/fast_1.png and so on, and FOLDER/key.txt.
"""

import argparse
import random
from pathlib import Path

import numpy as np

from gaitgen import Request, load_animal, make_cycle
from gaitgen.animal.library import animal_names
from gaitgen.gait.gait import load_gait
from gaitgen.motion.kinematics import tips_m, world_frames
from gaitgen.motion.measure import over_origin
from gaitgen.pictures.moments import strip_rows
from gaitgen.pictures.page import Page, as_png

POSES, ROWS = 8, 5
WIDTH_MM, HEIGHT_MM = 297.0, 210.0
HIP_MM = 16.0  # of every animal on paper, or as large as its cell allows
FAR, NEAR = "0.6", "0"


def fastest(animal):
    """The gait of an animal that it takes at its greatest speed."""
    own = [load_gait(name).as_used_by(animal) for name in animal.gaits]
    return max(own, key=lambda gait: gait.froude_range[0]).name


def bones_m(clip, rows, *, legs_alone):
    """Lines of a stick figure: (poses, lines, 2, 3), and which are of the far, left side. [m]"""
    animal, still = clip.animal, over_origin(clip)
    places, world = world_frames(animal, still.root_path_m[rows], still.rotations[rows])
    ends = tips_m(animal, places, world)
    parents = animal.parents
    inner = [row for row in range(1, len(parents)) if np.any(animal.offsets_m[row])]
    leaves = [row for row in range(len(parents)) if row not in set(parents.tolist()) or row == animal.head]
    if legs_alone:
        kept = {*animal.spine, *(row for limb in animal.limbs for row in (*limb.joints, limb.sling))}
        inner, leaves = ([row for row in rows_of if row in kept] for rows_of in (inner, leaves))
    lines = [np.stack([places[:, parents[inner]], places[:, inner]], axis=2)]
    lines += [np.stack([places[:, leaves], ends[:, leaves]], axis=2)]
    is_far = [animal.joint_names[row].endswith("_L") for row in [*inner, *leaves]]
    return np.concatenate(lines, axis=1), np.array(is_far)


def draw(page, axes, clip, bottom_mm, *, legs_alone):
    """Draw one row: poses from the side, on their ground."""
    lines, is_far = bones_m(clip, strip_rows(clip, POSES), legs_alone=legs_alone)
    across = lines[..., 0]
    middle = (across.min() + across.max()) / 2.0
    cell = (WIDTH_MM - 25.0) / POSES
    scale = min(HIP_MM / clip.animal.hip_height_m, 0.97 * cell / np.ptp(across))
    for k, pose in enumerate(lines):
        shift = 20.0 + (k + 0.5) * cell
        xs, ys = shift + scale * (pose[..., 0] - middle), bottom_mm + scale * pose[..., 2]
        order = np.argsort(~is_far, kind="stable")
        for row in order:
            tone = FAR if is_far[row] else NEAR
            axes.plot(xs[row], ys[row], color=tone, linewidth=1.1, marker="o", markersize=1.6)
        ground = [shift - 0.48 * cell, shift + 0.48 * cell]
        page.line(ground, [bottom_mm, bottom_mm], linewidth=0.5, color="0.6")


def pages(clips, name, folder, *, legs_alone):
    """Write some clips, a few on a page, numbered in their order."""
    for first in range(0, len(clips), ROWS):
        page = Page(WIDTH_MM, HEIGHT_MM)
        axes = page.axes
        for k, (number, clip) in enumerate(clips[first : first + ROWS]):
            bottom = HEIGHT_MM - 6.0 - (k + 1) * (HEIGHT_MM - 12.0) / ROWS + 3.0
            page.text(6.0, bottom + 6.0, str(number), 14.0, fontweight="bold")
            draw(page, axes, clip, bottom, legs_alone=legs_alone)
        (folder / f"{name}_{first // ROWS + 1}.png").write_bytes(as_png(page.figure))


def main():
    """Make, shuffle, draw, and keep the key."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("folder", type=Path)
    asked.add_argument("--seed", type=int, default=None)
    asked.add_argument("--legs", action="store_true")
    asked.add_argument("--animals", nargs="*")
    given = asked.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    shuffled = random.Random(given.seed)  # noqa: S311
    animals = [load_animal(name) for name in given.animals or animal_names()]
    key = []
    for name, gait_of in (("walks", lambda _: "walk"), ("fast", fastest)):
        shuffled.shuffle(animals)
        made = []
        for number, animal in enumerate(animals, 1):
            gait = gait_of(animal)
            made.append((number, make_cycle(Request(animal=animal, gait=gait, frame_rate_hz=60.0))))
            key.append(f"{name} {number}: {animal.name}, {gait}")
        pages(made, name, given.folder, legs_alone=given.legs)
    (given.folder / "key.txt").write_text("\n".join(key) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
