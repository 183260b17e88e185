"""Writes the files of one variant beside those that somebody has changed by hand, and says so."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from pathlib import Path

from gaitgen.batch.folder import put
from gaitgen.batch.identity import digest
from gaitgen.batch.job import Made
from gaitgen.batch.table import Row, digests_of, files_of, files_text
from gaitgen.errors import OutputError
from gaitgen.formats.in_place import SavedMeanwhileError
from gaitgen.formats.kept import CLIP_ENDS, MOST_TRIED, FileSet, placed
from gaitgen.formats.record import digest_of
from gaitgen.formats.write import shown


def put_kept(made: Made, folder: Path, *, force: bool) -> Row:
    """Write the files of a variant and return its row, which says under which names they are.

    Raises
    ------
    OutputError
        If one cannot be written.
    """
    stem = made.row["name"]
    ends = {name.removeprefix(stem): data for name, data in made.files.items()}
    own = FileSet(folder, stem, ends, CLIP_ENDS)
    for _ in range(MOST_TRIED):
        name, _ = placed(own, force=force)
        files = {f"{name}{end}": data for end, data in ends.items()}
        known = None if force else {file: digest_of(folder / file) for file in files}
        if placed(own, force=force)[0] == name:
            with contextlib.suppress(SavedMeanwhileError):
                put(folder, files, known)
                break
    else:
        raise OutputError(
            f"cannot write {shown(folder / stem)}: its files are saved again and again meanwhile"
        )
    return made.row | {"files": files_text({file: digest(data) for file, data in files.items()})}


def aside_line(row: Row, folder: Path) -> str | None:
    """Say in one line why the files of a row have a number in their names; None if they have none."""
    own = {f"{row['name']}{end}" for end in CLIP_ENDS}
    file = next((file for file in files_of(row) if file not in own), None)
    if file is None:
        return None
    there = shown(folder / row["name"])
    return f"{there}.* is not as gaitgen wrote it, so it is kept; the new files are beside it, such as {file}"


def replaced_line(before: Mapping[str, Row], row: Row, folder: Path) -> str | None:
    """Say in one line that a clip made otherwise was replaced; None if there was none, or the same."""
    name = row["name"]
    file = f"{name}.bvh"
    if name not in before or digests_of(before[name]).get(file) in {None, digests_of(row).get(file)}:
        return None
    return f"{shown(folder / file)} was made from another request or version, and is replaced"
