"""The ground of a shot file: a slope, a profile, steps, or a file of heights: a picture or a mesh."""

from __future__ import annotations

import io
import logging
import math
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.animal.toml_table import Table
from gaitgen.course.ground import Ground, Heights
from gaitgen.course.surfaces import height_map, mesh_ground, stairs
from gaitgen.errors import CourseError, GaitgenError
from gaitgen.shot.way import profile

Array = npt.NDArray[np.float64]

KINDS = ("slope", "profile", "steps", "image", "mesh")
FAR_M, HIGH_M = 10_000.0, 1000.0
FARTHEST_M = 1e6  # of a mesh, which may be larger than what is walked on
MESHES = (".obj", ".ply", ".stl", ".glb")
LARGEST_FILE_BYTES, MOST_PIXELS, MOST_FACES = 100_000_000, 16_000_000, 1_000_000
# Formats in which y is up by definition or by habit; in the others z is.
Y_UP = (".glb", ".obj")

Beside = Callable[[Table, str, str], Path]


def read_ground(table: Table, beside: Beside) -> Ground:
    """Read the ground from its table; ``beside`` finds the files that it names.

    Raises
    ------
    GaitgenError
        If a value is not usable, or a file cannot be read; named after table and key.
    """
    given = [key for key in KINDS if table.has(key)]
    if len(given) != 1:
        what = f"has {' and '.join(given)}" if given else "says nothing of its heights"
        raise table.fail(
            f"{what}; give one of slope = 10 (per cent), profile = [[0, 0], [10, 0], [20, 1]] and "
            "steps = [[3, 0.15], [3.4, 0.15]] (metres), image or mesh"
        )
    kind = given[0]
    try:
        ground = READERS[kind](table, beside)
    except CourseError as error:
        raise table.fail(f"{kind}: {error}") from None
    table.no_more()
    return ground


def _uphill_rad(table: Table) -> float:
    return math.radians(table.number("uphill", -360.0, 360.0)) if table.has("uphill") else 0.0


def _slope(table: Table, _: Beside) -> Ground:
    return Ground(table.number("slope", -60.0, 60.0) / 100.0, _uphill_rad(table))


def _profile(table: Table, _: Beside) -> Ground:
    return profile(_pairs(table, "profile"), _uphill_rad(table))


def _steps(table: Table, _: Beside) -> Ground:
    pairs = _pairs(table, "steps")
    if not pairs:
        raise table.fail("steps is empty; give [distance, rise] of each, such as [[3, 0.15], [3.4, 0.15]]")
    for _at, rise in pairs:
        table.checked(rise, "steps: a rise", -5.0, 5.0)
    return stairs(pairs, _uphill_rad(table), "the steps")


def _pairs(table: Table, key: str) -> list[tuple[float, float]]:
    return [pair(table, row, key) for row in table.rows(key)]


def pair(table: Table, row: list[object], key: str) -> tuple[float, float]:
    """Return one row of two numbers in metres."""
    if len(row) != 2:
        raise table.fail(f"{key} has {row}; write two numbers for each point")
    x, y = (table.checked(value, key, -FAR_M, FAR_M) for value in row)
    return x, y


def _image(table: Table, beside: Beside) -> Heights:
    path = _file(table, "image", (".png",), beside)
    size = table.number("metres_per_pixel", 0.001, 100.0)
    low, high = table.limits("heights", -HIGH_M, HIGH_M)
    corner = table.vector("corner", 2, -FAR_M, FAR_M)
    return height_map(low + (high - low) * _shades(table, path), size, (corner[0], corner[1]), path.name)


def _shades(table: Table, path: Path) -> Array:
    """Read how bright each pixel of a picture is, 0 to 1, nan where it is clear."""
    from matplotlib.image import imread

    size = path.read_bytes()[16:24]
    width, height = (int.from_bytes(size[k : k + 4]) for k in (0, 4))
    if width * height > MOST_PIXELS:
        raise table.fail(f"image has {width} by {height} pixels; give at most {MOST_PIXELS}")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            picture = np.asarray(imread(path, format="png"), dtype=np.float64)
    except (OSError, ValueError, SyntaxError) as error:
        raise table.fail(
            f"image is {path.name!r}, which cannot be read ({' '.join(str(error).split())[:80]}); give a PNG"
        ) from None
    if picture.ndim == 2:
        return picture
    shade = picture[..., :3].mean(axis=-1) if picture.shape[-1] > 2 else picture[..., 0]
    is_clear = picture.shape[-1] in (2, 4)
    return np.where(picture[..., -1] > 0.5, shade, np.nan) if is_clear else shade


def _mesh(table: Table, beside: Beside) -> Heights:
    path = _file(table, "mesh", MESHES, beside)
    scale = table.number("scale", 1e-6, 1e6) if table.has("scale") else 1.0
    origin = table.vector("at", 3, -FAR_M, FAR_M) if table.has("at") else (0.0, 0.0, 0.0)
    up = table.text("up") if table.has("up") else "y" if path.suffix.lower() in Y_UP else "z"
    if up not in ("y", "z"):
        raise table.fail(f"up is {up!r}; write one of y, z")
    triangles = _triangles(table, path)
    farthest_m = float(np.abs(triangles).max()) * scale
    if farthest_m > FARTHEST_M:
        raise table.fail(
            f"mesh is {path.name!r}, with corners {farthest_m:.3g} m away; give a scale that makes "
            f"it metres, at most {FARTHEST_M:g}"
        )
    triangles = triangles * scale
    if up == "y":  # x stays, z comes towards the viewer
        triangles = np.stack([triangles[..., 0], -triangles[..., 2], triangles[..., 1]], axis=-1)
    return mesh_ground(triangles + np.array(origin), path.name)


def _triangles(table: Table, path: Path) -> Array:
    """Read the faces of a mesh: (triangles, 3, 3), in its own unit and axes."""
    import trimesh

    logging.getLogger("trimesh").addHandler(
        logging.NullHandler()
    )  # else it tells the terminal of its trouble
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            kind = path.suffix.lower().removeprefix(".")
            # From memory: of a path it would open what the file names, such as its material, or a pipe.
            mesh = trimesh.load_mesh(io.BytesIO(path.read_bytes()), file_type=kind, process=False)
        triangles = np.asarray(mesh.triangles, dtype=np.float64)
    except GaitgenError:
        raise
    except Exception as error:  # noqa: BLE001, whatever a damaged file makes of a reader
        reason = " ".join(str(error).split())[:80] or type(error).__name__
        raise table.fail(
            f"mesh is {path.name!r}, which cannot be read ({reason}); give a mesh of triangles"
        ) from None
    if not len(triangles) or triangles.shape[1:] != (3, 3) or not np.isfinite(triangles).all():
        raise table.fail(f"mesh is {path.name!r}, which has no faces, or some at no place; give a mesh")
    if len(triangles) > MOST_FACES:
        raise table.fail(f"mesh has {len(triangles)} faces; give at most {MOST_FACES}")
    return triangles


def _file(table: Table, key: str, suffixes: tuple[str, ...], beside: Beside) -> Path:
    path = beside(table, key, table.text(key))
    if path.suffix.lower() not in suffixes:
        raise table.fail(f"{key} is {path.name!r}; give a file that ends in {', '.join(suffixes)}")
    if path.stat().st_size > LARGEST_FILE_BYTES:
        raise table.fail(f"{key} is a file of more than {LARGEST_FILE_BYTES // 10**6} MB; give a smaller one")
    return path


READERS: dict[str, Callable[[Table, Beside], Ground]] = {
    "slope": _slope,
    "profile": _profile,
    "steps": _steps,
    "image": _image,
    "mesh": _mesh,
}
