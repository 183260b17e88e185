// The plan in words: key poses, numbers, what is worth knowing, and what is to be seen in a frame.

/** List key poses, numbers and notices; `goTo` takes the frame of a pose. */
function listPlan(clip, goTo) {
  byId("poses_title").textContent = clip.is_shot ? "What happens" : "Key poses";
  byId("poses").replaceChildren(...listed(clip).map((pose) => {
    const item = document.createElement("li"), button = document.createElement("button");
    button.type = "button";
    button.append(worded("b", pose.frame), worded("span", pose.name));
    button.addEventListener("click", () => goTo(Math.round(pose.frame)));
    item.append(button);
    return item;
  }));
  byId("numbers").replaceChildren(...clip.numbers.flatMap(([label, text]) => [worded("dt", label), worded("dd", text)]));
  byId("noticed").hidden = clip.notices.length === 0;
  byId("notices").replaceChildren(...clip.notices.map((text) => worded("li", text)));
}

/** What the list has: key poses, or what happens in a shot. */
function listed(clip) {
  return clip.is_shot ? clip.stretches.map(([frame, , name]) => ({ frame, name })) : clip.key_poses;
}

/** Whether a frame is that of an entry of the list; of a shot, whether it is in that stretch. */
function isHere(clip, k, frame) {
  if (!clip.is_shot) return Math.round(clip.key_poses[k].frame) === frame;
  const [first, last] = clip.stretches[k];
  return frame >= first && (frame < last || k === clip.stretches.length - 1);
}

function worded(kind, text) {
  const node = document.createElement(kind);
  node.textContent = text;
  return node;
}

/** Key poses before and after a frame, going round: {at, name, frame}. */
function neighbours({ frames, key_poses: poses }, frame) {
  const inside = poses.map((pose) => ({ ...pose, at: Math.round(pose.frame) })).filter((pose) => pose.at <= frames);
  const here = ((frame - 1) % frames) + 1;
  const earlier = inside.filter((pose) => pose.at < here), later = inside.filter((pose) => pose.at > here);
  return {
    before: earlier[earlier.length - 1] || inside[inside.length - 1],
    on: inside.find((pose) => pose.at === here),
    after: later[0] || inside[0],
  };
}

/** Say in words what is to be seen. */
function tell(clip, frame) {
  const { before, on, after } = neighbours(clip, frame);
  const down = clip.feet.map((foot) => foot.foot).filter((foot) => clip.planted[frame - 1][clip.limbs.indexOf(foot)]);
  const words = on ? on.name : `from ${before.name} to ${after.name}`;
  byId("frame").textContent = `${frame}`;
  const doing = clip.is_shot ? `${clip.stretches.find((_, k) => isHere(clip, k, frame))[2]}; ` : "";
  byId("moment").textContent = `${doing}${words}; down: ${down.join(" ") || "none"}`;
  byId("picture").setAttribute("aria-label", `Frame ${frame}: ${words}`);
  byId("bars").setAttribute("aria-valuenow", frame);
  byId("bars").setAttribute("aria-valuetext", `${frame}, ${words}`);
  byId("poses").querySelectorAll("button").forEach((button, k) => {
    const current = isHere(clip, k, frame);
    if ((button.getAttribute("aria-current") === "true") !== current) button.setAttribute("aria-current", current);
  });
}
