"""What the server works from for a shot: the page, the shot made anew along another path, and its file."""

from __future__ import annotations

import json
import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from urllib.parse import parse_qsl

import numpy as np

from gaitgen.check.of_shot import found_in_made
from gaitgen.errors import GaitgenError, RequestError
from gaitgen.formats.kept import FileSet, placed, write_kept
from gaitgen.page.page import as_json, page
from gaitgen.page.path_points import PathPoints, points_from, points_of_pieces, with_path
from gaitgen.page.shot_data import shot_data
from gaitgen.page.write_clip import fate_of
from gaitgen.shot.asked import ShotRequest
from gaitgen.shot.make import Made
from gaitgen.shot.way import through
from gaitgen.shot.way_file import TURN_RADIUS_M


@dataclass
class ShotDesk:
    """Stands for a Desk.

    Attributes
    ----------
    file
        The shot file.
    request
        What it asks for.
    made
        The shot as it asks.
    make
        Makes a shot.
    text
        What stood in the file when it was read.
    force
        Whether a file that was changed by hand is replaced.
    token
        Known to the served page alone.
    writing
        Held while the file is written, so that ending the server waits for it.
    """

    file: Path
    request: ShotRequest
    made: Made
    make: Callable[[ShotRequest], Made]
    text: str
    force: bool = False
    token: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    writing: threading.Lock = field(default_factory=threading.Lock)

    @property
    def own(self) -> PathPoints:
        """The path of the file as points."""
        return path_points(self.request, self.made)

    def page(self) -> bytes:
        """Return the page with the shot as its file has it."""
        served = {
            "shot": True,
            "values": {},
            "own": self.own.as_values(),
            "token": self.token,
            "file": str(self.file),
        }
        return page(self._data(self.made, self.own, self.request), served)

    def clip(self, query: str) -> bytes:
        """Return the shot along the path of a query such as ``points=0,0;8,0;12,6&radius=6``."""
        path = points_from(dict(parse_qsl(query, keep_blank_values=True)))
        if path is None:
            return as_json(self._data(self.made, self.own, self.request)).encode()
        request = along(self.request, path)
        return as_json(self._data(self.make(request), path, request)).encode()

    def write(self, body: bytes) -> bytes:
        """Write the path of one request, ``{"values": {...}}``, into the shot file, or beside it."""
        try:
            asked = json.loads(body)
        except (ValueError, RecursionError):
            raise RequestError("the request is no JSON; reload the page") from None
        values = asked.get("values") if isinstance(asked, dict) else None
        if not isinstance(values, dict) or not all(isinstance(text, str) for text in values.values()):
            raise RequestError("the request is not of this page; reload the page")
        path = points_from(values) or self.own
        along(self.request, path)
        data = with_path(self._text_now(), path, str(self.file)).encode()
        folder, stem = self.file.resolve().parent, self.file.stem
        files = FileSet(folder, stem, {self.file.suffix: data})
        with self.writing:
            name, _ = placed(files, force=self.force)
            fate = fate_of(folder / f"{name}{self.file.suffix}", data)
            written = write_kept([files], force=self.force)
        said = [notice.text for notice in written.notices if notice.topic == "kept"]
        answer = {"files": [str(each) for each in written.files], "fates": [fate], "said": said}
        return as_json(answer).encode()

    def _data(self, made: Made, path: PathPoints, request: ShotRequest) -> dict[str, object]:
        stem = self.file.stem
        return shot_data(made, stem, path.points, request.marks, found_in_made(made, request, f"{stem}.bvh"))

    def _text_now(self) -> str:
        """Return what stands in the file, which must be what was read at first."""
        now = read_text(self.file)
        if now != self.text:
            raise RequestError(f"{self.file} has been changed since it was read; start gaitgen preview again")
        return now


def read_text(file: Path) -> str:
    """Read a shot file as text.

    Raises
    ------
    RequestError
        If it cannot be read.
    """
    try:
        return file.read_bytes().decode("utf-8", "replace")
    except OSError as fault:
        raise RequestError(f"cannot read {file}: {fault.strerror}; start gaitgen preview again") from None


def along(request: ShotRequest, path: PathPoints) -> ShotRequest:
    """Return a request with another path.

    Raises
    ------
    RequestError
        If no way leads through its points.
    """
    try:
        pieces, heading = through(list(path.points), path.radius_m)
    except GaitgenError as error:
        raise RequestError(str(error)) from None
    return replace(request.along(pieces, path.points[0], heading), timed_along=None)


def path_points(request: ShotRequest, made: Made) -> PathPoints:
    """Return the path of a request as points; where it turns on the spot, they are those of its turns."""
    if request.turns:
        place, _ = made.root_motion()
        rows = [round(spin.start_s * made.clip.frame_rate_hz) for spin in made.path.spins]
        points = place[[0, *rows, -1], :2].tolist()
        return PathPoints(tuple((x, y) for x, y in points), TURN_RADIUS_M)
    seconds = (made.clip.frames - 1) / made.clip.frame_rate_hz
    way_m = float(made.timeline.pace.distance_m(np.array(seconds)))
    return points_of_pieces(request.pieces, request.start_m, request.heading_rad, way_m)
