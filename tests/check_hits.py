"""Whether a check found what was damaged."""

from gaitgen.check.finding_words import grouped


def touches(damaged, finding):
    """Whether a finding's frames touch those of the damage, give or take one."""
    if damaged.frames is None:
        return True
    last = len(damaged.file.rows)

    def frames(first, end):
        if first <= end:
            return set(range(first, end + 1))
        return set(range(first, last + 1)) | set(range(1, end + 1))

    wanted = frames(*damaged.frames)
    wanted |= {frame + step for frame in wanted for step in (-1, 1)}
    return bool(wanted & frames(finding.first_frame, finding.last_frame))


def is_found(damaged, findings):
    """Whether one finding has the right kind, limb and frames."""
    every = [each for finding in findings for each in (finding, *finding.follows)]
    return any(names(damaged, finding) for finding in every)


def names(damaged, finding):
    """Whether one finding says what was done, where and when."""
    if damaged.joint and damaged.joint in {finding.joint, finding.limb}:
        return touches(damaged, finding)
    return (
        finding.kind in damaged.kinds
        and (not damaged.limbs or finding.limb in damaged.limbs)
        and touches(damaged, finding)
    )


def is_named_first(damaged, findings, most=3):
    """Whether one of the first findings, as they are listed, says what was done; not what follows from it."""
    return any(names(damaged, finding) for group in grouped(findings)[:most] for finding in group)
