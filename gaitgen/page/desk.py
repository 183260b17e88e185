"""What the server works from: makes the page, a clip for each change, and the files."""

from __future__ import annotations

import json
import secrets
import threading
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import cast
from urllib.parse import parse_qsl

from gaitgen.animal.animal import Animal
from gaitgen.animal.known_gaits import gait_names
from gaitgen.animal.library import animal_names, load_animal
from gaitgen.animal.proportions import Proportions
from gaitgen.errors import RequestError
from gaitgen.gait.request import STAND, Request
from gaitgen.option import options_of
from gaitgen.page.answers import Answers
from gaitgen.page.clip_data import clip_data
from gaitgen.page.controls import request_from, table, values_of
from gaitgen.page.moved_contacts import STAND_FOR
from gaitgen.page.page import as_json, page
from gaitgen.page.write_clip import write_clip
from gaitgen.rigs.command import motion_of
from gaitgen.rigs.map_file import is_map

MOST_KEPT = 64  # clips, of about 0.2 MB each


@dataclass
class Desk:
    """What the server works from.

    Attributes
    ----------
    request
        What the page starts with.
    out
        Folder that files are written into.
    token
        Known to the served page alone.
    writing
        Held while files are written, so that ending the server waits for them.
    force
        Whether files that were changed by hand are replaced.
    answers
        Clips that the page has asked for.
    """

    request: Request
    out: Path
    token: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    writing: threading.Lock = field(default_factory=threading.Lock)
    force: bool = False
    answers: Answers = field(default_factory=lambda: Answers(MOST_KEPT))

    def page(self) -> bytes:
        """Return the page with its first clip."""
        served = {
            "controls": table(self.request),
            "values": values_of(self.request),
            "contacts_stand_for": STAND_FOR,
            "rigs": [self.request.animal] if is_map(str(self.request.animal)) else [],
            "rigs_stand_for": [found.name for found in options_of(Proportions)],
            "token": self.token,
            "out": str(self.out.resolve()),
        }
        return page(self._data(self.request), served)

    def clip(self, query: str) -> bytes:
        """Return the clip for a query such as ``frames=24&nod=1.5``."""
        pairs = parse_qsl(query, keep_blank_values=True)
        values = dict(pairs)
        if len(values) != len(pairs):
            raise RequestError("a control is given twice; give each once")
        request = request_from(values, self.request)

        def made() -> bytes:
            return as_json(self._data(request)).encode()

        return self.answers.of(request, made) if _is_of_no_file(request) else made()

    def write(self, body: bytes) -> bytes:
        """Write the files of one request, ``{"values": {...}, "name": ""}``, and say what became of each."""
        try:
            asked = json.loads(body)
        except (ValueError, RecursionError):
            raise RequestError("the request is no JSON; reload the page") from None
        values = asked.get("values") if isinstance(asked, dict) else None
        name = asked.get("name") if isinstance(asked, dict) else None
        texts = isinstance(values, dict) and all(isinstance(text, str) for text in values.values())
        if not texts or not isinstance(name, str):
            raise RequestError("the request is not of this page; reload the page")
        request = request_from(cast("dict[str, str]", values), self.request)
        with self.writing:
            written = write_clip(request, self.out, name, force=self.force)
        answer = {
            "files": [str(path) for path, _ in written.fates],
            "fates": [fate for _, fate in written.fates],
            "said": [notice.text for notice in written.notices],
        }
        return as_json(answer).encode()

    @staticmethod
    def _data(request: Request) -> dict[str, object]:
        if request.animal in animal_names():
            request = replace(request, animal=_known_animal(request.animal, request.proportions))
        clip = motion_of(request)
        return clip_data(clip, (clip.asked or request).gait_stem)


def _is_of_no_file(request: Request) -> bool:
    """Whether a clip depends on nothing that somebody may change meanwhile."""
    return request.animal in animal_names() and request.gait in (None, STAND, *gait_names())


@lru_cache(maxsize=16)
def _known_animal(animal: str, proportions: Proportions) -> Animal:
    """Read an animal that comes with gaitgen once, not at every change."""
    return load_animal(animal, proportions)
