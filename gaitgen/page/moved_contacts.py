"""Contacts and lift-offs that were moved by hand on the bars of the page."""

from __future__ import annotations

from collections.abc import Mapping

from gaitgen.course.contacts import contacts_text, parse_contacts, stretched
from gaitgen.errors import RequestError
from gaitgen.gait.request import Request

CONTACTS, CONTACT_FRAMES = "contacts", "contact_frames"
STAND_FOR = ("duty_factor", "lag", "start")
"""Controls that moved contacts say already; the page leaves them out while there are any."""
USUAL_FRAMES = 32  # of a walk, where nothing else is said
_MOST_FRAMES = 2000
_MOST_LETTERS = 200


def moved_contacts(
    values: Mapping[str, str], frames: int | None, *, whole_frames: bool
) -> tuple[str, int] | None:
    """Return the contacts of a query as the command line takes them, and the length of their stride.

    None where the query has none.

    Parameters
    ----------
    values
        Name of a control to its value as text. ``contacts`` are those of a stride of ``contact_frames``;
        a stride of another length has them stretched.
    frames
        Length of the stride; that of the contacts if None. [frames]
    whole_frames
        Whether stretched contacts go on whole frames.

    Raises
    ------
    GaitgenError
        If they cannot be read, or are no contacts of a stride of that length.
    """
    if CONTACTS not in values:
        if CONTACT_FRAMES in values:
            raise RequestError("contact_frames is given without contacts; give both or none")
        return None
    text, counted = values[CONTACTS], values.get(CONTACT_FRAMES, str(frames or USUAL_FRAMES))
    if len(text) > _MOST_LETTERS:
        raise RequestError(f"contacts has {len(text)} letters; give one stance a foot")
    if not (counted.isascii() and counted.isdigit() and len(counted) <= 4 and int(counted) <= _MOST_FRAMES):
        message = f"contact_frames is {counted[:40]!r}; give a whole number up to {_MOST_FRAMES}"
        raise RequestError(message)
    timing = parse_contacts(text, int(counted))
    if frames is None or timing.frames == frames:
        return text, timing.frames
    return contacts_text(stretched(timing, frames, whole_frames=whole_frames)), frames


def contact_values(request: Request) -> dict[str, str]:
    """Return the values with which the page starts where the request has contacts."""
    if request.contacts is None:
        return {}
    return {CONTACTS: request.contacts, CONTACT_FRAMES: str(request.frames or USUAL_FRAMES)}
