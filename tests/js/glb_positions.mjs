// Loads a glTF file with three.js, plays it to some times, and prints what it finds as JSON.
// Usage: node glb_positions.mjs FILE VERTEX,VERTEX,... TIME TIME ...
import { readFileSync } from 'node:fs';
import { AnimationMixer, Vector3 } from 'three';
import { GLTFLoader } from 'three/addons/loaders/GLTFLoader.js';

const [file, chosen, ...times] = process.argv.slice(2);
const bytes = readFileSync(file);
const data = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength);
const gltf = await new GLTFLoader().parseAsync(data, '');
const { scene, animations } = gltf;

let figure;
scene.traverse((node) => {
  if (node.isSkinnedMesh) figure = node;
});
const mixer = new AnimationMixer(scene);
mixer.clipAction(animations[0]).play();

const poses = times.map((time) => {
  mixer.setTime(Number(time));
  scene.updateMatrixWorld(true);
  figure.skeleton.update();
  const joints = figure.skeleton.bones.map((bone) => [bone.name, bone.getWorldPosition(new Vector3()).toArray()]);
  const vertices = chosen.split(',').map((vertex) => {
    const place = figure.getVertexPosition(Number(vertex), new Vector3());
    return place.applyMatrix4(figure.matrixWorld).toArray();
  });
  return { joints: Object.fromEntries(joints), vertices };
});
console.log(
  JSON.stringify({
    poses,
    name: animations[0].name,
    duration: animations[0].duration,
    extras: animations[0].userData,
    tracks: animations[0].tracks.length,
  }),
);
