"""Make many cycles, in parallel, each written whole or not at all."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Generator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np

from gaitgen.batch.plan import Variant
from gaitgen.batch.table import Row, digest, is_there, rows_there, write_table
from gaitgen.course.contacts import summarise
from gaitgen.formats import hand_off
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff
from gaitgen.formats.write import write_files
from gaitgen.motion.measure import slip_m
from gaitgen.pipeline import make_cycle

_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


@dataclass(frozen=True)
class Outcome:
    """What a run did.

    Attributes
    ----------
    rows
        One row a variant, in the order of the plan.
    made, kept
        How many were written, and how many were there already.
    """

    rows: tuple[Row, ...]
    made: int
    kept: int


@cache
def _code_id() -> str:
    """Name the code and data that make the motion, so that another version of them makes the files again."""
    package = Path(__file__).resolve().parent.parent
    files = sorted(path for path in package.rglob("*") if path.suffix in {".py", ".toml"})
    return digest(b"".join(path.read_bytes() for path in files))


def fingerprint(variant: Variant, space: FileSpace, wanted: HandOff) -> str:
    """Name a request by its contents: the same text for the same motion and files. 16 hexadecimal digits."""
    request = variant.request
    gait = digest(Path(request.gait).read_bytes()) if request.gait.endswith(".toml") else request.gait
    parts = (_code_id(), _contents(replace(request, gait=gait)), _contents(space), _contents(wanted))
    return digest("\n".join(parts).encode())


def _contents(value: object) -> str:
    """Write out everything that a value holds; arrays by their bytes."""
    if isinstance(value, np.ndarray):
        return digest(np.ascontiguousarray(value).tobytes())
    if is_dataclass(value):
        inside = (f"{item.name}={_contents(getattr(value, item.name))}" for item in fields(value))
        return f"{type(value).__name__}({', '.join(inside)})"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_contents(item)}" for key, item in value.items()) + "}"
    return repr(value)


def make_variant(variant: Variant, space: FileSpace, wanted: HandOff, folder: Path, request_id: str) -> Row:
    """Make one cycle, write its files, and return its row of the table.

    Raises
    ------
    GaitgenError
        If the cycle cannot be made or written; nothing is written then.
    """
    clip = make_cycle(variant.request)
    ends, keys = hand_off.encode(clip, space, wanted)
    files = {f"{variant.name}{end}": data for end, data in ends.items()}
    write_files({folder / name: data for name, data in files.items()})
    facts, plan = clip.facts, clip.plan
    return {
        "name": variant.name,
        "animal": clip.skeleton.name,
        "gait": Path(variant.request.gait).stem,
        "style": variant.style_name,
        "frames": str(variant.request.frames),
        "fps": f"{clip.frame_rate_hz:g}",
        "speed_m_s": f"{facts['speed_m_s']:.3f}",
        "stride_length_m": f"{facts['stride_length_m']:.3f}",
        "duty_factor": f"{facts['duty_factor']:.4f}",
        "froude_number": f"{facts['froude_number']:.3f}",
        "named": summarise(clip.footfalls).name,
        "hips_rise_mm": f"{1e3 * float(np.ptp(plan['hips_heave_m'])):.1f}",
        "chest_rise_mm": f"{1e3 * float(np.ptp(plan['chest_heave_m'])):.1f}",
        "trunk_lowered_mm": f"{1e3 * max(facts['hips_drop_m'], facts['chest_drop_m']):.1f}",
        "slip_mm": f"{1e3 * slip_m(clip):.3f}",
        "keys": "" if keys is None else str(int(keys.count.sum())),
        "notices": " ".join(sorted({notice.topic for notice in clip.notices})),
        "request": request_id,
        "files": " ".join(f"{name}:{digest(data)}" for name, data in files.items()),
    }


def run_variants(
    plan: Sequence[Variant],
    space: FileSpace,
    wanted: HandOff,
    folder: Path,
    *,
    workers: int | None = None,
    force: bool = False,
    tell: Callable[[int, int], None] = lambda _done, _all: None,
) -> Outcome:
    """Make what is not there yet, in parallel; the table is brought up to date after each one.

    An interrupted run leaves whole files and their rows, so that the next one goes on from there.

    Parameters
    ----------
    plan, space, wanted, folder
        What to make, and how and where to write it.
    workers
        Processes; the number of cores by default.
    force
        Make again what is there already.
    tell
        Called with how many are done, and of how many.

    Raises
    ------
    GaitgenError
        If one cannot be made; those before it are kept.
    """
    rows = {} if force else rows_there(folder)
    names = {variant.name: fingerprint(variant, space, wanted) for variant in plan}
    kept = {v.name for v in plan if is_there(rows.get(v.name), names[v.name], folder)}
    waiting = [variant for variant in plan if variant.name not in kept]
    tell(len(kept), len(plan))
    done = len(kept)
    results = _in_parallel(waiting, space, wanted, folder, names, workers)
    try:
        for row in results:
            rows[row["name"]] = row
            write_table(rows, folder)
            done += 1
            tell(done, len(plan))
    finally:
        results.close()
    ordered = tuple(rows[variant.name] for variant in plan)
    return Outcome(ordered, made=len(waiting), kept=len(kept))


def _in_parallel(
    waiting: Sequence[Variant],
    space: FileSpace,
    wanted: HandOff,
    folder: Path,
    names: dict[str, str],
    workers: int | None,
) -> Generator[Row, None, None]:
    """Yield rows as they are finished."""
    count = min(workers or os.cpu_count() or 1, len(waiting))
    if count <= 1:
        for variant in waiting:
            yield make_variant(variant, space, wanted, folder, names[variant.name])
        return
    from concurrent.futures import ProcessPoolExecutor, as_completed
    from multiprocessing import get_context

    with (
        _one_thread_each(),
        ProcessPoolExecutor(
            count, mp_context=get_context("spawn"), initializer=_leave_interrupts_to_the_parent
        ) as pool,
    ):
        jobs = [pool.submit(make_variant, v, space, wanted, folder, names[v.name]) for v in waiting]
        try:
            for job in as_completed(jobs):
                yield job.result()
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _one_thread_each() -> Generator[None, None, None]:
    """Keep the arithmetic of new processes to one thread, or they would crowd each other out."""
    before = {name: os.environ.get(name) for name in _THREADS}
    os.environ.update(dict.fromkeys(_THREADS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _leave_interrupts_to_the_parent() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
