"""The page as one file: HTML, style and script of our own, put together with a clip.

The figure is drawn on a 2-D canvas by a small script, hulls of pairs of discs in painter's order: it needs
no viewer library, so the page is small, sharp at any zoom and has nothing to install, load or go out of date.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from importlib import resources

from gaitgen.numerics.json_text import json_text

SCRIPTS = (
    "geometry.js",
    "tones.js",
    "brush.js",
    "figure.js",
    "belt.js",
    "way.js",
    "trails.js",
    "bars.js",
    "shot_bars.js",
    "path_map.js",
    "handles.js",
    "view.js",
    "player.js",
    "changes.js",
    "lane.js",
    "controls.js",
    "desk.js",
    "path_desk.js",
    "keys.js",
    "plan.js",
    "page.js",
)


def page(clip: Mapping[str, object], served: Mapping[str, object] | None = None) -> bytes:
    """Put the page together.

    Parameters
    ----------
    clip
        What :func:`gaitgen.page.clip_data.clip_data` returns.
    served
        Controls, values and token of the served page; None for a page that stands alone.

    Returns
    -------
    bytes
        UTF-8 HTML; the same clip gives the same bytes.
    """
    folder = resources.files("gaitgen.page")
    text = {name: (folder / name).read_text(encoding="utf-8") for name in ("page.html", "page.css", *SCRIPTS)}
    fillings = {
        "@CONNECT@": "'none'" if served is None else "'self'",
        "/*@STYLE@*/": text["page.css"],
        "/*@SCRIPT@*/": "\n".join(text[name] for name in SCRIPTS),
        '"@CLIP@"': as_json(clip),
        '"@SERVED@"': as_json(served),
    }
    marks = re.compile("|".join(re.escape(mark) for mark in fillings))
    return marks.sub(lambda found: fillings[found.group()], text["page.html"]).encode("utf-8")


def as_json(value: object) -> str:
    """Write compact JSON that may stand inside a script element."""
    return json_text(value, compact=True).replace("<", "\\u003c")
