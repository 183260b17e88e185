"""Drawing that looks the same everywhere: no settings of the user or of the folder change a picture."""

from __future__ import annotations

import logging
import os
import warnings
from collections.abc import Callable, Generator
from contextlib import contextmanager, suppress
from functools import wraps
from importlib.util import find_spec
from pathlib import Path
from typing import ParamSpec, TypeVar

_Given = ParamSpec("_Given")
_Made = TypeVar("_Made")
_SETTINGS = "matplotlibrc"


def in_own_look(draw: Callable[_Given, _Made]) -> Callable[_Given, _Made]:
    """Make a function draw with matplotlib's own settings, whatever they are outside of it.

    A letter that the font does not have is drawn as an empty box, without a word.
    """

    @wraps(draw)
    def drawn(*given: _Given.args, **named: _Given.kwargs) -> _Made:
        _load()
        import matplotlib as mpl

        with mpl.rc_context(), warnings.catch_warnings():
            mpl.rcdefaults()
            mpl.rcParams["text.parse_math"] = False
            warnings.filterwarnings("ignore", r"Glyph .* missing from", UserWarning)
            return draw(*given, **named)

    return drawn


def _load() -> None:
    """Load matplotlib, which reads its settings while it is loaded, without those that lie about."""
    found = find_spec("matplotlib")
    home = None if found is None or found.origin is None else Path(found.origin).parent / "mpl-data"
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # no word on where it keeps its list of fonts
    if home is None:
        return
    before = os.environ.get("MATPLOTLIBRC")
    os.environ["MATPLOTLIBRC"] = str(home / _SETTINGS)
    try:
        with _elsewhere(home):
            import matplotlib as mpl  # noqa: F401
    finally:
        if before is None:
            del os.environ["MATPLOTLIBRC"]
        else:
            os.environ["MATPLOTLIBRC"] = before


@contextmanager
def _elsewhere(folder: Path) -> Generator[None, None, None]:
    """Be in another folder for a moment, but only if there are settings in this one."""
    if not os.path.lexists(_SETTINGS):
        yield
        return
    here = os.open(".", os.O_RDONLY)
    try:
        os.chdir(folder)
        yield
    finally:
        with suppress(OSError):
            os.fchdir(here)
        os.close(here)
