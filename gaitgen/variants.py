"""Many cycles at once: lengths, animals and styles, in parallel, each written whole or not at all."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import re
import signal
from collections.abc import Callable, Generator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from gaitgen.errors import RequestError
from gaitgen.files import bvh, channels, hand_off
from gaitgen.files.axes import FileSpace
from gaitgen.files.hand_off import HandOff
from gaitgen.files.write import write_files
from gaitgen.generate import Request, generate
from gaitgen.motion.measure import slip_m
from gaitgen.parameters.style import Style
from gaitgen.skeleton.library import load_animal
from gaitgen.skeleton.skeleton import Skeleton
from gaitgen.timeline.contacts import summarise

_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
TABLE = "variants.csv"
# Raised when the motion of an unchanged request changes, so that old files are made again.
MOTION_VERSION = 1
MOST_VARIANTS = 10_000
COLUMNS = (
    "name",
    "animal",
    "gait",
    "style",
    "frames",
    "fps",
    "speed_m_s",
    "stride_length_m",
    "duty_factor",
    "froude_number",
    "named",
    "hips_rise_mm",
    "chest_rise_mm",
    "trunk_lowered_mm",
    "slip_mm",
    "keys",
    "notices",
    "request",
    "files",
)
Row = dict[str, str]


@dataclass(frozen=True)
class Variant:
    """One cycle to make, and the name of its files without suffix."""

    name: str
    style_name: str
    request: Request


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


def parse_style(text: str) -> tuple[str, Style]:
    """Read a named style, such as ``proud: bounce=1.3 nod=1.4``.

    Raises
    ------
    RequestError
        If the name or a factor is not usable.
    """
    name, colon, rest = text.partition(":")
    name = name.strip()
    if not (colon and re.fullmatch(r"[A-Za-z][A-Za-z0-9_]{0,39}", name)):
        raise RequestError(f"cannot read the style {text!r}; write it like 'proud: bounce=1.3 nod=1.4'")
    factors: dict[str, float] = {}
    for word in rest.replace(",", " ").split():
        key, equals, value = word.partition("=")
        if key not in Style.__dataclass_fields__ or not equals:
            known = ", ".join(Style.__dataclass_fields__)
            raise RequestError(
                f"cannot read {word!r} in the style {name!r}; write FACTOR=NUMBER, with {known}"
            )
        try:
            factors[key] = float(value)
        except ValueError:
            raise RequestError(
                f"{value!r} in the style {name!r} is no number; write {key}=<number>"
            ) from None
    return name, Style(**factors)


def plan_variants(
    base: Request, animals: Sequence[str], frames: Sequence[int], styles: Sequence[tuple[str, Style]] = ()
) -> tuple[Variant, ...]:
    """Combine animals, lengths and styles; files are named ANIMAL_GAIT_FRAMES, and _STYLE if one is named.

    Raises
    ------
    GaitgenError
        If an animal is not usable, there are too many combinations, or two would have the same name.
    """
    stems = {}
    for animal in animals:
        if animal in stems:
            raise RequestError(f"{animal!r} is given twice in the animals; take one out")
        stems[animal] = load_animal(animal, base.proportions).name
    gait = Path(base.gait).stem
    plan = [
        Variant(
            name=f"{stem}_{gait}_{length}" + (f"_{style_name}" if style_name else ""),
            style_name=style_name,
            request=replace(base, animal=animal, frames=length, style=style),
        )
        for animal, stem in stems.items()
        for length in frames
        for style_name, style in (styles or (("", base.style),))
    ]
    if not 0 < len(plan) <= MOST_VARIANTS:
        raise RequestError(f"this makes {len(plan)} variants; ask for 1 to {MOST_VARIANTS}")
    names = [variant.name for variant in plan]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise RequestError(f"two variants would be called {twice!r}; take out what is given twice")
    return tuple(plan)


def fingerprint(variant: Variant, space: FileSpace, wanted: HandOff) -> str:
    """Name a request by its contents: the same text for the same motion and files. 16 hexadecimal digits."""
    request = variant.request
    skeleton = request.animal
    if not isinstance(skeleton, Skeleton):
        skeleton = load_animal(skeleton, request.proportions)
    arrays = (
        skeleton.offsets_m,
        skeleton.tips_m,
        skeleton.mass_shares,
        skeleton.ranges_rad,
        skeleton.mass_centres_m,
    )
    content = {
        "motion": MOTION_VERSION,
        "request": asdict(replace(request, animal=skeleton.name)),
        "skeleton": [hashlib.sha256(array.tobytes()).hexdigest() for array in arrays],
        "mass": skeleton.body_mass_kg,
        "followers": {part: asdict(follower) for part, follower in skeleton.followers.items()},
        "space": asdict(space),
        "hand_off": asdict(wanted),
    }
    if request.gait.endswith(".toml"):
        content["gait"] = hashlib.sha256(Path(request.gait).read_bytes()).hexdigest()
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()[:16]


def make_variant(variant: Variant, space: FileSpace, wanted: HandOff, folder: Path, request_id: str) -> Row:
    """Make one cycle, write its files, and return its row of the table.

    Raises
    ------
    GaitgenError
        If the cycle cannot be made or written; nothing is written then.
    """
    clip = generate(variant.request)
    files = {
        f"{variant.name}.bvh": bvh.encode(clip, space),
        f"{variant.name}.channels.csv": channels.encode(clip, space),
    }
    extra, keys = hand_off.encode(clip, space, wanted)
    files |= {f"{variant.name}{end}": data for end, data in extra.items()}
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
        "hips_rise_mm": f"{1e3 * float(plan['hips_heave_m'].max() - plan['hips_heave_m'].min()):.1f}",
        "chest_rise_mm": f"{1e3 * float(plan['chest_heave_m'].max() - plan['chest_heave_m'].min()):.1f}",
        "trunk_lowered_mm": f"{1e3 * max(facts['hips_drop_m'], facts['chest_drop_m']):.1f}",
        "slip_mm": f"{1e3 * slip_m(clip):.3f}",
        "keys": "" if keys is None else str(int(keys.count.sum())),
        "notices": " ".join(sorted({notice.topic for notice in clip.notices})),
        "request": request_id,
        "files": " ".join(f"{name}:{_digest(data)}" for name, data in files.items()),
    }


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:16]


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
    rows = {} if force else _rows_there(folder)
    names = {variant.name: fingerprint(variant, space, wanted) for variant in plan}
    kept = {v.name for v in plan if _is_there(rows.get(v.name), names[v.name], folder)}
    waiting = [variant for variant in plan if variant.name not in kept]
    tell(len(kept), len(plan))
    done = len(kept)
    results = _in_parallel(waiting, space, wanted, folder, names, workers)
    try:
        for row in results:
            rows[row["name"]] = row
            _write_table(rows, folder)
            done += 1
            tell(done, len(plan))
    finally:
        results.close()
    if waiting and not kept.issuperset(rows):
        _write_table(rows, folder)
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


def _rows_there(folder: Path) -> dict[str, Row]:
    """Read the table of an earlier run; an unreadable one counts as none."""
    try:
        text = (folder / TABLE).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return {}
    reader = csv.DictReader(io.StringIO(text))
    if tuple(reader.fieldnames or ()) != COLUMNS:
        return {}
    return {row["name"]: row for row in reader if None not in row and None not in row.values()}


def _is_there(row: Row | None, request_id: str, folder: Path) -> bool:
    """Tell whether a variant was made from the same request and all its files are as they were written."""
    if row is None or row["request"] != request_id or not row["files"]:
        return False
    for entry in row["files"].split(" "):
        name, _, digest = entry.rpartition(":")
        try:
            if _digest((folder / name).read_bytes()) != digest:
                return False
        except OSError:
            return False
    return True


def _write_table(rows: dict[str, Row], folder: Path) -> None:
    """Write the table, rows by animal, gait, style and length."""
    buffer = io.StringIO(newline="")
    writer = csv.DictWriter(buffer, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(sorted(rows.values(), key=_order))
    write_files({folder / TABLE: buffer.getvalue().encode()})


def _order(row: Mapping[str, str]) -> tuple[str, str, str, int, str]:
    length = int(row["frames"]) if row["frames"].isdigit() else 0
    return row["animal"], row["gait"], row["style"], length, row["name"]


def parse_frames(text: str) -> tuple[int, ...]:
    """Read lengths such as ``16,24,32`` or ``16-48:8`` (from, to, step).

    Raises
    ------
    RequestError
        If a length is no whole number, or given twice.
    """
    lengths: list[int] = []
    for part in text.split(","):
        span = re.fullmatch(r"\s*(\d{1,4})(?:-(\d{1,4})(?::(\d{1,4}))?)?\s*", part)
        if not span:
            raise RequestError(
                f"cannot read the length {part.strip()!r}; write lengths like 16,24,32 or 16-48:8"
            )
        first, last, step = int(span[1]), int(span[2] or span[1]), int(span[3] or 1)
        if step < 1 or last < first:
            raise RequestError(
                f"the lengths {part.strip()!r} go nowhere; write FIRST-LAST:STEP, such as 16-48:8"
            )
        lengths += range(first, last + 1, step)
    twice = next((length for length in lengths if lengths.count(length) > 1), None)
    if twice is not None:
        raise RequestError(f"the length {twice} is given twice; take one out")
    return tuple(lengths)


_TITLES = {
    "name": "name",
    "frames": "frames",
    "speed_m_s": "m/s",
    "duty_factor": "duty",
    "hips_rise_mm": "hips mm",
    "trunk_lowered_mm": "lowered mm",
    "keys": "keys",
    "notices": "notes",
}


def summary_text(outcome: Outcome) -> str:
    """Write the table for people."""
    table = [list(_TITLES.values()), *([row[column] for column in _TITLES] for row in outcome.rows)]
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    words = {0, len(widths) - 1}  # set to the left, numbers to the right
    lines = [
        "  ".join(
            cell.ljust(width) if k in words else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in table
    ]
    return "\n".join([*lines, "", f"made {outcome.made}, kept {outcome.kept}"]) + "\n"
