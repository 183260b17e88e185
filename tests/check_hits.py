"""Whether a check found what was damaged."""


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
    return any(
        finding.kind in damaged.kinds
        and (not damaged.limbs or finding.limb in damaged.limbs)
        and touches(damaged, finding)
        for finding in findings
    )
