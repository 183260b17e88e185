"""Which end of a standing rig is its head."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaitgen.errors import Notice
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.nodes import Nodes
from gaitgen.rigs.stance import Stance

REAR_WORDS = ("tail", "hind", "rear", "back", "pelvis", "hip")
# What is nearer to the end of a toe than this share of the rig's height does not tell where it points.
AT_TIP = 0.01
# How much each sign of a head counts, as so many votes: toes point at it, the root is at the hips, that
# end is higher, and names say so (estimates; a sum below 1 is told as a guess).
BY_TOES, BY_ROOT, BY_HEIGHTS, BY_NAMES = 3.0, 1.5, 2.0, 0.5
# Shares of the way from pair to pair, and of the height, and cosines, count whole when they are 1 over these.
ROOT_STEEP, HEIGHT_STEEP, TOE_STEEP = 4.0, 4.0, 2.0
FRONT_WORDS = ("head", "neck", "fore", "front", "chest", "jaw", "ear")


def facing(nodes: Nodes, stance: Stance, notices: list[Notice]) -> Stance:
    """Turn the stance so that forward is where the head is."""
    votes = _forward_votes(nodes, stance)
    total = sum(votes.values())
    if abs(total) < 1.0:
        word = "its toes, its root and the height of its ends do not agree" if votes else "nothing tells"
        notices.append(Doubt("forward", f"which end is the head is a guess: {word}; see forward in the map."))
    if stance.is_askew:
        text = "left and right do not mirror each other, so forward is a guess; see forward in the map."
        notices.append(Doubt("forward", text))
    if total >= 0.0:
        return stance
    rear, front = stance.feet
    axes = stance.axes * np.array([[-1.0], [-1.0], [1.0]])
    return replace(stance, axes=axes, middle=-stance.middle, feet=(front[::-1], rear[::-1]))


def _forward_votes(nodes: Nodes, stance: Stance) -> dict[str, float]:
    """Evidence that the rig faces along axes[0] (positive) or against it."""
    here = nodes.places @ stance.axes.T
    tall = float(np.ptp(here[:, 2]))
    feet = [foot for pair in stance.feet for foot in pair]
    toes = []
    for foot in feet:
        tip = max(foot, key=lambda leaf: len(nodes.line(leaf)))
        line = [node for node in nodes.line(tip) if np.linalg.norm(here[node] - here[tip]) > AT_TIP * tall]
        along = here[tip] - here[line[0]] if line else np.zeros(3)
        reach = float(np.linalg.norm(along))
        toes.append(float(along[0]) / reach if reach > 0.0 else 0.0)
    rear, front = (float(here[[*pair[0], *pair[1]], 0].mean()) for pair in stance.feet)
    root = (float(here[0, 0]) - rear) / (front - rear) - 0.5
    flat = stance.mates == np.arange(len(here))
    heights = [
        float(here[flat & side, 2].max()) if (flat & side).any() else stance.ground
        for side in (here[:, 0] > front, here[:, 0] < rear)
    ]
    names = 0.0
    for node, name in enumerate(nodes.names):
        place = np.sign(float(here[node, 0]) - (rear + front) / 2.0)
        word = name.lower()
        names += place * (any(w in word for w in FRONT_WORDS) - any(w in word for w in REAR_WORDS))
    return {
        "toes": BY_TOES * float(np.clip(TOE_STEEP * np.mean(toes), -1.0, 1.0)),
        "root": -BY_ROOT * float(np.clip(ROOT_STEEP * root, -1.0, 1.0)),
        "heights": BY_HEIGHTS * float(np.clip(HEIGHT_STEEP * (heights[0] - heights[1]) / tall, -1.0, 1.0)),
        "names": BY_NAMES * float(np.sign(names)),
    }
