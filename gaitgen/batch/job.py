"""One variant as another process, or another machine, can make it: no open files, no paths, bytes back."""

from __future__ import annotations

import pickle
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.batch.identity import digest
from gaitgen.batch.plan import Variant
from gaitgen.batch.shots import ShotAsked, gaits_in, make_asked
from gaitgen.batch.table import COLUMNS, NOT_MADE, Row, files_text
from gaitgen.errors import GaitgenError, OutputError, WorkerError
from gaitgen.formats import hand_off
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.cells import no_formula
from gaitgen.formats.hand_off import HandOff
from gaitgen.gait.request import WALK
from gaitgen.motion.keys import Keys
from gaitgen.motion.measure import slip_m
from gaitgen.motion.motion import Motion
from gaitgen.motion.report import summary_of
from gaitgen.pipeline import Request, make_cycle
from gaitgen.rigs.cycle import LoadedRig
from gaitgen.rigs.shot import RigShot, encoded_shot


@dataclass(frozen=True)
class Job:
    """All that is needed to make one variant.

    Attributes
    ----------
    name, style_name
        Name of the files without suffix; name of the style.
    request
        What is asked, with the name of the animal only.
    animal
        The animal, or the rig, packed; a process unpacks it once for all its jobs.
    gait_file
        Contents of the gait file; None where the gait has a name.
    space, wanted
        How to write it, and which files.
    request_id
        Name of all that by its contents.
    force
        Whether files that were changed by hand are replaced.
    """

    name: str
    style_name: str
    request: Request | ShotAsked
    animal: bytes
    gait_file: bytes | None
    space: FileSpace
    wanted: HandOff
    request_id: str
    force: bool = False


@dataclass(frozen=True)
class Made:
    """What came of a job: its row of the table, and its files by name."""

    row: Row
    files: dict[str, bytes]


def jobs(
    plan: Sequence[Variant],
    space: FileSpace,
    wanted: HandOff,
    ids: Mapping[str, str],
    *,
    force: bool = False,
) -> list[Job]:
    """Pack what is to be made; each animal once, however many variants it has."""
    packed: dict[int, bytes] = {}
    found = []
    for variant in plan:
        animal = variant.request.animal
        if id(animal) not in packed:
            packed[id(animal)] = pickle.dumps(variant.rig or animal)
        job = Job(
            name=variant.name,
            style_name=variant.style_name,
            request=replace(variant.request, animal=animal.name if isinstance(animal, Animal) else animal),
            animal=packed[id(animal)],
            gait_file=variant.gait_file,
            space=space,
            wanted=wanted,
            request_id=ids[variant.name],
            force=force,
        )
        found.append(job)
    return found


@dataclass(frozen=True)
class NotMade:
    """What is said of a job that cannot be made: its row of the table, without files, and why."""

    row: Row
    why: GaitgenError


def not_made(job: Job, why: GaitgenError) -> NotMade:
    """Note a job that cannot be made.

    Raises
    ------
    OutputError, WorkerError
        If it is not the job that cannot be made, but nothing can.
    """
    if isinstance(why, OutputError | WorkerError):
        raise why
    request = job.request
    told = {
        "name": job.name,
        "animal": request.animal if isinstance(request.animal, str) else request.animal.name,
        "style": job.style_name,
        "fps": f"{request.frame_rate_hz:g}" if request.frame_rate_hz else "",
        "notices": NOT_MADE,
        "request": job.request_id,
    }
    if isinstance(request, Request):
        told |= {"gait": no_formula(request.gait_stem), "frames": str(request.frames or "")}
    return NotMade({column: told.get(column, "") for column in COLUMNS}, why)


def make(job: Job) -> Made:
    """Make one cycle or shot and encode its files.

    Raises
    ------
    GaitgenError
        If it cannot be made.
    """
    animal = _animal(job.animal)
    if isinstance(job.request, ShotAsked):
        return _shot_made(job, job.request, animal)
    keys: Keys | None = None
    with _gait_at_hand(job.request, job.gait_file) as gait:
        request = replace(job.request, gait=gait)
        if isinstance(animal, LoadedRig):
            made = animal.cycle(request)
            clip, (ends, keys) = made.clip, made.encoded(job.wanted)
        else:
            clip = make_cycle(replace(request, animal=animal))
            ends, keys = hand_off.encode(clip, job.space, job.wanted)
    return _made(job, _of_cycle(job.request, clip), clip, ends, keys)


def _shot_made(job: Job, asked: ShotAsked, animal: Animal | LoadedRig | str) -> Made:
    shot = make_asked(asked, animal, job.space)
    made = shot.made if isinstance(shot, RigShot) else shot
    ends, keys = encoded_shot(shot, job.space, job.wanted)
    return _made(job, {"gait": gaits_in(made)}, made.clip, ends, keys)


def _made(job: Job, own: Row, clip: Motion, ends: Mapping[str, bytes], keys: Keys | None) -> Made:
    files = {f"{job.name}{end}": data for end, data in ends.items()}
    row = _row(job, clip, keys, files) | own
    return Made({column: row.get(column, "") for column in COLUMNS}, files)


def make_all(jobs: Sequence[Job]) -> list[Made | NotMade]:
    """Make some jobs, in their order; one that cannot be made does not keep the others back.

    Raises
    ------
    OutputError, WorkerError
        If nothing can be made.
    """
    return [made_or_not(job) for job in jobs]


def made_or_not(job: Job) -> Made | NotMade:
    """Make a job, or say why it cannot be made.

    Raises
    ------
    OutputError, WorkerError
        If nothing can be made.
    """
    try:
        return make(job)
    except GaitgenError as why:
        return not_made(job, why)


def _row(job: Job, clip: Motion, keys: Keys | None, files: Mapping[str, bytes]) -> Row:
    """Sum up one clip for the table."""
    facts = clip.facts
    return {
        "name": job.name,
        "animal": clip.animal.name,
        "style": job.style_name,
        "frames": str(facts.frames),
        "fps": f"{clip.frame_rate_hz:g}",
        "speed_m_s": f"{facts.speed_m_s:.3f}",
        "trunk_lowered_mm": f"{1e3 * max(facts.hips_drop_m, facts.chest_drop_m):.1f}",
        "slip_mm": f"{1e3 * slip_m(clip):.3f}",
        "keys": "" if keys is None else str(int(keys.count.sum())),
        "notices": " ".join(sorted({notice.topic for notice in clip.notices})),
        "request": job.request_id,
        "files": files_text({name: digest(data) for name, data in files.items()}),
    }


def _of_cycle(request: Request, clip: Motion) -> Row:
    """Sum up what a cycle alone has."""
    facts, plan = clip.facts, clip.plan
    return {
        "gait": no_formula(request.gait_stem),
        "stride_length_m": f"{facts.stride_length_m:.3f}",
        "duty_factor": f"{facts.duty_factor:.4f}",
        "froude_number": f"{facts.froude_number:.3f}",
        "named": summary_of(clip).name,
        "hips_rise_mm": f"{1e3 * float(np.ptp(plan.hips_heave_m)):.1f}",
        "chest_rise_mm": f"{1e3 * float(np.ptp(plan.chest_heave_m)):.1f}",
    }


@lru_cache(maxsize=8)
def _animal(packed: bytes) -> Animal | LoadedRig | str:
    """Unpack an animal or a rig; the same object each time, so that what is worked out for it is kept."""
    animal: Animal | LoadedRig | str = pickle.loads(packed)  # noqa: S301  packed by this program a moment ago
    return animal


@contextmanager
def _gait_at_hand(request: Request, gait_file: bytes | None) -> Iterator[str]:
    """Give the name of the gait, or the path of its file, which may have come from another machine."""
    if gait_file is None:
        yield request.gait or WALK
        return
    with TemporaryDirectory(prefix="gaitgen-") as folder:
        path = Path(folder) / Path(request.gait or WALK).name
        path.write_bytes(gait_file)
        yield str(path)
