"""Place joints and End Sites with bvhio and print them; runs in its own process because bvhio may hang."""

import json
import sys
from pathlib import Path

import bvhio
import glm


def place(path):
    container = bvhio.readAsBvh(path)
    joints = {joint.Name: joint for joint, _, _ in bvhio.convertBvhToHierarchy(container.Root).layout()}
    root = joints[container.Root.Name]
    root.loadRestPose(recursive=True)
    tips = {j.Name: glm.length(j.EndSite) for j, _, _ in container.Root.layout() if not j.Children}
    places = {name: [] for name in (*joints, *(f"{name} tip" for name in tips))}
    for frame in range(container.FrameCount):
        root.loadPose(frame)
        for name, joint in joints.items():
            places[name].append(list(joint.PositionWorld))
            if name in tips:
                # bvhio turns the rest pose so that the y axis of a leaf points at its End Site
                places[f"{name} tip"].append(list(joint.PositionWorld + joint.UpWorld * tips[name]))
    return places


files = sorted(Path(sys.argv[1]).glob("*.bvh"))
print(json.dumps({file.stem: place(str(file)) for file in files}))
