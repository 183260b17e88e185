"""The files behind the page's button: the same ones, byte for byte, that `gaitgen cycle` writes."""

from __future__ import annotations

from pathlib import Path

from gaitgen.errors import RequestError
from gaitgen.files import bvh, channels, hand_off
from gaitgen.files.axes import FileSpace
from gaitgen.files.write import write_files
from gaitgen.generate import Request, generate
from gaitgen.preview.clip_data import gait_word


def write_clip(request: Request, out: Path, name: str = "") -> tuple[Path, ...]:
    """Make a clip and write its motion, channels and keys.

    Parameters
    ----------
    request
        The cycle to make.
    out
        Folder for the files; made if it is missing.
    name
        Name of the files without suffix; made from the request if empty.

    Returns
    -------
    tuple of Path
        The files, with their whole paths.

    Raises
    ------
    GaitgenError
        If the request is not usable or a file cannot be written; then nothing is changed.
    """
    clip = generate(request)
    stem = name or f"{clip.skeleton.name}_{gait_word(request.gait)}_{request.frames}"
    if stem != Path(stem).name or "\\" in stem or not stem.isprintable() or stem in {".", ".."}:
        raise RequestError(f"name is {stem!r}; give a plain file name without folders")
    space = FileSpace()
    extra, _ = hand_off.encode(clip, space, hand_off.HandOff())
    ends = {".bvh": bvh.encode(clip, space), ".channels.csv": channels.encode(clip, space), **extra}
    files = {out.resolve() / f"{stem}{end}": data for end, data in ends.items()}
    write_files(files)
    return tuple(files)
