"""Names for what is asked: the same text for the same motion and files, another for any other."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import cache
from importlib import metadata
from pathlib import Path
from types import NoneType

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.batch.plan import Variant
from gaitgen.batch.shots import ShotAsked
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff

_PLAIN = (str, int, float, NoneType)  # most of what is written out, and the sooner the better
_ARITHMETIC = ("numpy", "quadprog", "scipy")  # packages on which the last digit may depend


def digest(data: bytes) -> str:
    """Name some bytes by their contents: 16 hexadecimal digits of SHA-256."""
    return hashlib.sha256(data).hexdigest()[:16]


@cache
def code_id() -> str:
    """Name the code and data that make the motion, so that another version of them makes the files again.

    The animals do not count: what is read of one is part of each request.
    """
    package = Path(__file__).resolve().parent.parent
    files = sorted(path for path in package.rglob("*") if path.suffix in {".py", ".toml"})
    inside = (path for path in files if "skeletons" not in path.relative_to(package).parts)
    return digest(b"".join(path.read_bytes() for path in inside))


def version() -> str:
    """Name what has to be the same on two machines if their bytes shall be."""
    return ", ".join([f"gaitgen {code_id()}", *(f"{name} {metadata.version(name)}" for name in _ARITHMETIC)])


def fingerprints(plan: Sequence[Variant], space: FileSpace, wanted: HandOff) -> dict[str, str]:
    """Name each request of a plan by its contents.

    Returns
    -------
    fingerprints
        Name of the variant to 16 hexadecimal digits.
    """
    animals: dict[int, str] = {}  # one animal serves many variants, and is large
    same_for_all = digest("\n".join((code_id(), contents(space), contents(wanted))).encode())
    found = {}
    for variant in plan:
        animal, request = variant.request.animal, variant.request
        if isinstance(animal, Animal):
            if id(animal) not in animals:
                animals[id(animal)] = digest(contents(animal).encode())
            request = replace(request, animal=animals[id(animal)])
        if variant.gait_file is not None and not isinstance(request, ShotAsked):
            request = replace(request, gait=digest(variant.gait_file))
        if variant.rig is not None:
            rig = variant.rig.rig
            request = replace(request, animal=digest(f"{request.animal}\n{contents(rig)}".encode()))
        if isinstance(request, ShotAsked):  # wherever its file is
            request = replace(request, where="", fault=None)
        found[variant.name] = digest(f"{same_for_all}\n{contents(request)}".encode())
    return found


def contents(value: object) -> str:
    """Write out everything that a value holds; arrays by their bytes, sets in one order.

    The order of a set changes from one run of Python to the next.
    """
    if isinstance(value, _PLAIN):
        return repr(value)
    if isinstance(value, bytes | np.ndarray):
        return digest(value if isinstance(value, bytes) else np.ascontiguousarray(value).tobytes())
    if is_dataclass(value):
        inside = (f"{item.name}={contents(getattr(value, item.name))}" for item in fields(value))
        return f"{type(value).__name__}({', '.join(inside)})"
    if isinstance(value, set | frozenset | tuple | list):
        texts = [contents(item) for item in value]
        return (
            f"({', '.join(texts)})" if isinstance(value, tuple | list) else f"{{{', '.join(sorted(texts))}}}"
        )
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {contents(item)}" for key, item in value.items()) + "}"
    return repr(value)
