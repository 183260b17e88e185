"""The user's own rig: found in a BVH file, mapped onto an animal, and posed with its own joints."""
