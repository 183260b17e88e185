"""The files behind the page's button: the same ones, byte for byte, that `gaitgen cycle` writes."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from gaitgen.errors import Notice
from gaitgen.formats import hand_off
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.kept import CLIP_ENDS, FileSet, placed, write_kept
from gaitgen.formats.record import digest, digest_of
from gaitgen.formats.write import plain_stem
from gaitgen.gait.request import Request
from gaitgen.pipeline import make_cycle
from gaitgen.rigs.command import cycle_on_rig
from gaitgen.rigs.map_file import is_map

NEW, REPLACED, UNCHANGED = "new", "replaced", "unchanged"


@dataclass(frozen=True)
class Handed:
    """What became of the files of a clip.

    Attributes
    ----------
    fates
        Each file, with its whole path, and whether it is new, replaced, or unchanged: there before with the
        same contents.
    notices
        What is to be said about files that were kept.
    """

    fates: tuple[tuple[Path, str], ...]
    notices: tuple[Notice, ...]


def write_clip(request: Request, out: Path, name: str = "", *, force: bool = False) -> Handed:
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
    Handed
        What became of each file.

    Raises
    ------
    GaitgenError
        If the request is not usable or a file cannot be written; then nothing is changed.
    """
    if isinstance(request.animal, str) and is_map(request.animal):
        made = cycle_on_rig(request.animal, request)
        stem, ends = made.stem, made.files(hand_off.HandOff())
    else:
        clip = make_cycle(request)
        stem = clip.stem
        ends, _ = hand_off.encode(clip, FileSpace(), hand_off.HandOff())
    files = FileSet(out.resolve(), plain_stem(name or stem), ends, CLIP_ENDS, own=stem)
    stem, _ = placed(files, force=force)
    before = {(path := files.folder / f"{stem}{end}"): fate_of(path, data) for end, data in ends.items()}
    written = write_kept([files], force=force)
    kept = tuple(notice for notice in written.notices if notice.topic == "kept")
    return Handed(tuple((path, before.get(path, NEW)) for path in written.files), kept)


def fate_of(path: Path, data: bytes) -> str:
    """Tell what writing a file will do to what is there."""
    found = digest_of(path)
    return NEW if found is None else UNCHANGED if found == digest(data) else REPLACED
