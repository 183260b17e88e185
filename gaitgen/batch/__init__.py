"""Many cycles or shots at once: lengths, animals and styles, or shot files and values in them.

`plan` lists the cycles and `shot_plan` the `shots`, `identity` says which of them are there already, `job`
makes one clip in another process (bytes in, bytes out) or says why it cannot, on the processes of `pool` or
the workers of `cluster`. `folder` puts the files in place (lock, temporary file, move), and `table` adds a
row after each clip, in the plan's order at the end. `aside` keeps what was edited by hand.
"""
