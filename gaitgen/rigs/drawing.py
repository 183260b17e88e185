"""A small drawing of a standing rig from its left side, in letters, to see what was taken for what."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

COLUMNS, MOST_ROWS = 76, 28
# A letter is about half as wide as high.
LETTER_SHAPE = 0.5
# What is drawn goes this far beyond what was found, as a share of its size.
MARGIN = 0.08
OTHER, BACK, BODY, GOAL = ".", "=", "+", "g"
# Later ones lie over earlier ones.
LEGEND = {
    OTHER: "stays still",
    "w": "hangs",
    "b": "right hind limb",
    "f": "right fore limb",
    BACK: "back",
    "t": "tail",
    "n": "neck",
    "B": "left hind limb",
    "F": "left fore limb",
    "H": "head",
    "j": "jaw",
    "e": "ears",
    GOAL: "goal of a foot",
    BODY: "carries the body",
}
LIMB_LETTERS = dict(zip(LIMBS, ("F", "f", "B", "b"), strict=True))


def side_view(rig: Rig) -> str:
    """Draw a rig from its left, facing right, with a last line that explains the letters."""
    letters = _letters(rig)
    places = rig.places_m[:, [0, 2]]
    found = places[[node for node, letter in enumerate(letters) if letter != OTHER]]
    margin = MARGIN * float(np.ptp(found, axis=0).max())
    page = _Page(found.min(axis=0) - margin, found.max(axis=0) + margin)
    bones = _bones(rig, letters)
    for mark in LEGEND:
        for node, above in (ends for ends, letter in bones.items() if letter == mark):
            page.line(places[above], places[node], mark)
        for node, letter in enumerate(letters):
            if letter == mark:
                page.line(places[node], places[node], mark)
    return page.text()


def _letters(rig: Rig) -> list[str]:
    """Letter of every joint and End Site."""
    own = rig.map
    named: dict[str, str] = {}
    if own.body is not None:
        named[own.body] = BODY
    named |= dict.fromkeys(own.spine, BACK) | dict.fromkeys(own.neck, "n") | dict.fromkeys(own.tail, "t")
    for joint, letter in ((own.head, "H"), (own.jaw, "j"), (own.ear_left, "e"), (own.ear_right, "e")):
        if joint is not None:
            named[joint] = letter
    for name, limb in own.limbs.items():
        named |= dict.fromkeys(limb.joints, LIMB_LETTERS[name])
        if limb.goal is not None:
            named[limb.goal] = GOAL
    for part in own.hanging.values():
        named |= dict.fromkeys(part.joints, "w")
    letters = [named.get(joint, OTHER) for joint in rig.file.joint_names]
    for row in range(len(letters) - 1, 0, -1):  # a group is drawn as what it carries at its own place
        above = int(rig.file.parents[row])
        if letters[above] == OTHER and (rig.places_m[above] == rig.places_m[row]).all():
            letters[above] = letters[row]
    return letters + [letters[int(joint)] for joint in rig.file.end_joints]


def _bones(rig: Rig, letters: list[str]) -> dict[tuple[int, int], str]:
    """Letter of the line from each node to the one above; none from what carries travel, or to goals."""
    bones = {}
    for node, above in enumerate(rig.rest.parents.tolist()):
        is_apart = above < 0 or letters[node] in {GOAL, BODY} or letters[above] in {GOAL, BODY}
        if is_apart or (letters[above] == OTHER and above in _carriers(rig)):
            continue
        bones[node, above] = OTHER if letters[node] == OTHER else letters[above]
    return bones


def _carriers(rig: Rig) -> set[int]:
    """Joints above the trunk."""
    joint, found = int(rig.file.parents[rig.joint(rig.map.pelvis)]), set()
    while joint >= 0:
        found.add(joint)
        joint = int(rig.file.parents[joint])
    return found


class _Page:
    """A grid of letters."""

    def __init__(self, low: Array, high: Array) -> None:
        wide, tall = (float(v) for v in np.maximum(high - low, 1e-9))
        self.low, self.scale = low, min((COLUMNS - 1) / wide, (MOST_ROWS - 1) / (tall * LETTER_SHAPE))
        rows = int(np.ceil(tall * self.scale * LETTER_SHAPE)) + 1
        self.grid = np.full((rows, COLUMNS), " ")

    def line(self, start: Array, end: Array, letter: str) -> None:
        """Write a letter along a line; what is off the page is left out."""
        steps = 2 + int(2.0 * self.scale * float(np.linalg.norm(end - start)))
        points = start + np.linspace(0.0, 1.0, steps)[:, None] * (end - start)
        at = np.round((points - self.low) * self.scale * [1.0, LETTER_SHAPE]).astype(int)
        rows, columns = len(self.grid) - 1 - at[:, 1], at[:, 0]
        inside = (rows >= 0) & (rows < len(self.grid)) & (columns >= 0) & (columns < COLUMNS)
        self.grid[rows[inside], columns[inside]] = letter

    def text(self) -> str:
        """Return the page and the words for the letters on it."""
        used = set(self.grid.ravel().tolist())
        words = ", ".join(f"{letter} {what}" for letter, what in LEGEND.items() if letter in used)
        lines = ["".join(row).rstrip() for row in self.grid]
        filled = [k for k, line in enumerate(lines) if line]
        return "\n".join([*lines[filled[0] : filled[-1] + 1], f"from the left: {words}"])
