"""The files behind the page's button: the same ones, byte for byte, that `gaitgen cycle` writes."""

from __future__ import annotations

from pathlib import Path

from gaitgen.formats import hand_off
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.kept import CLIP_ENDS, FileSet, Written, write_kept
from gaitgen.formats.write import plain_stem
from gaitgen.gait.request import Request
from gaitgen.pipeline import make_cycle
from gaitgen.rigs.command import cycle_on_rig
from gaitgen.rigs.map_file import is_map


def write_clip(request: Request, out: Path, name: str = "", *, force: bool = False) -> Written:
    """Make a clip and write its motion, channels and keys.

    Parameters
    ----------
    request
        The cycle to make.
    out
        Folder for the files; made if it is missing.
    name
        Name of the files without suffix; made from the request if empty.
    force
        Replace files that were changed by hand.

    Returns
    -------
    Written
        The files, with their whole paths, and what is to be said about those that were kept.

    Raises
    ------
    GaitgenError
        If the request is not usable or a file cannot be written; then nothing is changed.
    """
    if isinstance(request.animal, str) and is_map(request.animal):
        made = cycle_on_rig(request.animal, request)
        animal, ends = made.rig.name, made.files(hand_off.HandOff())
    else:
        clip = make_cycle(request)
        animal = clip.animal.name
        ends, _ = hand_off.encode(clip, FileSpace(), hand_off.HandOff())
    stem = plain_stem(name or request.stem(animal))
    return write_kept([FileSet(out.resolve(), stem, ends, CLIP_ENDS)], force=force)
