"""The user's own rig: found in a BVH file, mapped onto an animal, and posed with its own joints.

`find` takes a pose (`found`: `nodes`, `stance`, `facing`, `parted`, `branches`, `parts`, `head`, `guess`,
`helpers`; spread legs go under the body by `legs_under`) and makes a `RigMap`; `map_text` and `map_file`
write and read it, with the `toes` that it lacks. What is guessed is a `Doubt`; `sane_walk` takes another
animal where joints would bend backward, `named_sides` doubts sides that names contradict. `rig` puts map
and file together in metres. `as_skeleton` makes the animal that stands for it: the template's limbs and
flesh on the rig's bones, with `own_parts`, a `large_head`, `own_tail`, `own_stance`, `own_sway`, `own_nod`,
`own_ranges` (which `known_turns` keeps in the map), in each gait by `own_gaits`, and with legs that fold
once by `one_fold`, which `fit` asks and writes into the map; a bone above the pointing one that the rig
does not turn stays with the trunk (`limb_data`), a leg with fewer joints below it keeps its bend and the
trunk is lowered for that (`tight_m` in `limb`), and a tail of some joints is a row where the template's
has one. `cycle` walks that animal, with the factor that makes the nod that is asked for (`even_nod`),
`shot` takes it through a shot, and `pose` carries it over, joint by joint, root, body and goals;
`under_ground` turns up what hangs too low; `encode` writes the rig's own channels, `glb` its joints in a
skin. `animal_pose` is the way back, with which `reading/on_rig` draws a clip on a rig; `gimbal` tells which
of them swing. `refused` says what a rig can do instead of what it is refused.
"""
