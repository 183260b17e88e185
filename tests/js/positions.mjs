// Places joints and End Sites of every BVH file of a folder with three.js and prints them as JSON.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { AnimationMixer, LoopOnce, Vector3 } from 'three';
import { BVHLoader } from 'three/addons/loaders/BVHLoader.js';

const nameOf = (bone) => (bone.name === 'ENDSITE' ? `${bone.parent.name} tip` : bone.name);

function place(text) {
  const { clip, skeleton } = new BVHLoader().parse(text);
  const root = skeleton.bones[0];
  const mixer = new AnimationMixer(root);
  const action = mixer.clipAction(clip);
  action.setLoop(LoopOnce);
  action.clampWhenFinished = true;
  action.play();
  const places = Object.fromEntries(skeleton.bones.map((bone) => [nameOf(bone), []]));
  for (const time of clip.tracks[0].times) {
    mixer.setTime(time);
    root.updateMatrixWorld(true);
    for (const bone of skeleton.bones) {
      places[nameOf(bone)].push(bone.getWorldPosition(new Vector3()).toArray());
    }
  }
  return places;
}

const folder = process.argv[2];
const files = readdirSync(folder).filter((file) => file.endsWith('.bvh'));
const all = files.map((file) => [file.slice(0, -4), place(readFileSync(join(folder, file), 'utf8'))]);
console.log(JSON.stringify(Object.fromEntries(all)));
