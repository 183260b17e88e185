"""How many frames a clip must have to be judged or drawn, and what to do about one that has fewer."""

from __future__ import annotations

from gaitgen.errors import FileFormatError

# In fewer no gait is told, nor contacts found in the motion (estimate).
LEAST_FRAMES = 8


def refuse_few_frames(where: str, frames: int) -> None:
    """Refuse a clip of too few frames, as one stride of a small animal may be at a low rate.

    Raises
    ------
    FileFormatError
        If it is one; one line with what to do.
    """
    if frames < LEAST_FRAMES:
        raise FileFormatError(
            f"{where} has {frames} frame{'s' * (frames != 1)}; give a clip of at least {LEAST_FRAMES}, a "
            "stride or more: of a short stride two, as `gaitgen cycle --strides 2` makes, or more frames a "
            "second"
        )
