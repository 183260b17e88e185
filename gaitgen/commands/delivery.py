"""How commands put their files in place: what was changed by hand is kept, unless --force is given."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from gaitgen.commands.terminal import say
from gaitgen.errors import OutputError
from gaitgen.option import Option

if TYPE_CHECKING:
    from gaitgen.formats.kept import FileSet, Written
    from gaitgen.motion.motion import Motion

Force = Annotated[
    bool,
    Option(
        "Replace files that were changed by hand",
        "without it they are kept, and the new files go beside them as NAME.2, NAME.3 and so on",
    ),
]


def put_in_place(sets: "Sequence[FileSet]", *, maker: str | None = None, force: bool) -> "Written":
    """Write sets of files, all or none, unless a signal has asked to end; arguments as of `write_kept`.

    Raises
    ------
    Ended
        If a signal came that whatever was being loaded dropped.
    OutputError
        If they cannot be written.
    """
    from gaitgen.commands.signals import heed
    from gaitgen.formats.kept import write_kept
    from gaitgen.formats.record import REQUEST

    heed()
    return write_kept(sets, maker=maker or REQUEST, force=force)


def write_one(path: Path, data: bytes, *, force: bool) -> None:
    """Write a picture, a page or another file that stands alone, and say where it is."""
    write_set(path, {path.suffix: data}, force=force)


def write_set(path: Path, files: dict[str, bytes], *, force: bool) -> None:
    """Write files that share the name of a path without its suffix, by the ends of their names."""
    from gaitgen.formats.kept import FileSet

    written = put_in_place([FileSet(path.parent, path.stem, files)], force=force)
    for notice in written.notices:
        say(f"note: {notice.text}")
    for file in written.files:
        say(f"wrote {file}")


def strip_of(clip: "Motion", path: Path) -> bytes:
    """Draw a strip of poses, if it is to be a PNG."""
    if path.suffix.lower() != ".png":
        raise OutputError(f"cannot write {path}: a strip is a PNG; give a name that ends in .png")
    from gaitgen.pictures.strip import write_strip

    return write_strip(clip)
