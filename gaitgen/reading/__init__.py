"""From a BVH file with gaitgen's joints, as written or refined by hand, back to a clip with its plan."""
