"""Findings in words: how much, where, why, what to do, and what follows."""

from __future__ import annotations

from collections.abc import Sequence

from gaitgen.check.finding import Finding
from gaitgen.check.kinds import HABITS

MOST_PLACES, MOST_DECIMALS = 6, 6


def grouped(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Put findings of one kind and place together, in the order of the first of each.

    What legs do is put together by kind alone: it is one habit of the clip, seen at several feet.
    """
    groups: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        place = "" if finding.kind in HABITS else finding.place
        groups.setdefault((finding.kind, place), []).append(finding)
    return list(groups.values())


def amount_words(finding: Finding) -> str:
    """Say how much a finding is, and what would be let through."""
    (amount, limit), unit = _told_apart(finding), finding.unit
    one = {"frames": "frame", "feet": "foot", "parts": "part", "times": "time", "degrees": "degree"}
    if amount == "1":
        unit = one.get(unit, unit)
    side = {True: "at most", False: "at least"}[finding.amount > finding.limit]
    return f"{amount} {unit} ({'limit' if finding.amount == finding.limit else side} {limit})"


def frames_words(finding: Finding) -> str:
    """Say where a finding is."""
    return span_words(finding.first_frame, finding.last_frame)


def span_words(first: int, last: int) -> str:
    """Name frames from a first to a last, which in a loop may go on over its end."""
    if first == last:
        return f"frame {first}"
    return f"frames {first} on, over the end, to {last}" if first > last else f"frames {first} to {last}"


def follows_words(group: Sequence[Finding]) -> str:
    """Name what follows from findings, each kind with its places; nothing if nothing does."""
    places: dict[str, list[str]] = {}
    for finding in group:
        for each in finding.follows:
            own = places.setdefault(each.kind, [])
            if each.limb not in own:
                own.append(each.limb)
    return "; ".join(f"{kind} ({', '.join(own)})" for kind, own in places.items())


def finding_lines(number: int, group: Sequence[Finding]) -> list[str]:
    """Describe one fault of one place: where it is worst, where else it is, and what follows from it."""
    worst = group[0]
    lines = [f"  {number:>2}. {worst.kind}, {worst.place}, {frames_words(worst)}: {amount_words(worst)}"]
    if len(group) > 1:
        names = ["" if f.place == worst.place else f"{f.place} " for f in group]
        places = ", ".join(
            f"{name}{frames_words(f)} ({_told_apart(f)[0]})"
            for name, f in list(zip(names, group, strict=True))[1:MOST_PLACES]
        )
        rest = f" and {len(group) - MOST_PLACES} more" if len(group) > MOST_PLACES else ""
        lines.append(f"      also: {places}{rest}")
    lines += [f"      why: {worst.why}", f"      do:  {worst.do}"]
    follows = follows_words(group)
    return [*lines, f"      so:  {follows}"] if follows else lines


def _told_apart(finding: Finding) -> tuple[str, str]:
    """Write an amount and its limit short, with as many decimals more as it takes to tell them apart."""
    amount, limit = _short(finding.amount), _short(finding.limit)
    if finding.amount == finding.limit:
        return amount, limit
    decimals = len(amount.partition(".")[2])
    while float(amount) == float(limit) and decimals < MOST_DECIMALS:
        decimals += 1
        amount, limit = f"{finding.amount:.{decimals}f}", f"{round(finding.limit, decimals):g}"
    return amount, limit


def _short(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 20.0 else f"{value:.2g}"
