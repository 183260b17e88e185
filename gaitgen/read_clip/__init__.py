"""From a BVH file with gaitgen's joints, as written or refined by hand, back to a clip with its plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gaitgen.read_clip.read import clip_from_bvh, first_stride

__all__ = ["clip_from_bvh", "first_stride"]


def __getattr__(name: str) -> object:
    """Load the reader when it is asked for, so that commands that make cycles do not."""
    if name not in __all__:
        raise AttributeError(name)
    from gaitgen.read_clip import read

    return getattr(read, name)
