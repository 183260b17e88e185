// What was changed, one step a gesture, there and back; and what the address keeps of it.

const MOST_STEPS = 200;

/** States that replace each other: undo goes back to the one before, redo to the one after. */
class Changes {
  constructor(now, kept) {
    this.now = now;
    this.past = Array.isArray(kept?.past) ? kept.past : [];
    this.future = Array.isArray(kept?.future) ? kept.future : [];
    this.gesture = null;
  }

  /** Take a new state, and tell whether it is one. States of one gesture are one step; null is one of its own. */
  put(state, gesture = null) {
    if (isSame(state, this.now)) return false;
    if (gesture === null || gesture !== this.gesture) {
      this.past = [...this.past, this.now].slice(-MOST_STEPS);
      this.future = [];
    }
    this.now = state;
    this.gesture = gesture;
    return true;
  }

  /** End a gesture; one that came back to where it began is no step. */
  end() {
    if (this.gesture !== null && isSame(this.past[this.past.length - 1], this.now)) this.past.pop();
    this.gesture = null;
  }

  /** Take the newest step away as if it had not been; where there is none before, another state is put there. */
  takeBack(otherwise) {
    this.now = this.past.pop() || otherwise;
    this.gesture = null;
  }

  undo() {
    return this.go(this.past, this.future);
  }

  redo() {
    return this.go(this.future, this.past);
  }

  go(from, to) {
    this.end();
    if (from.length === 0) return false;
    to.push(this.now);
    this.now = from.pop();
    return true;
  }
}

function isSame(a, b) {
  const names = Object.keys(a);
  return names.length === Object.keys(b).length && names.every((name) => a[name] === b[name]);
}

// Names of what the page itself shows begin so; "own" stands for controls of which none is set.
const SHOWN = "page.", OWN = "own";

/** Read an address: the values of the controls, or null where it says nothing of them, and what is shown. */
function readAddress(hash) {
  const values = {}, shown = {};
  let isSaid = false;
  for (const [name, text] of new URLSearchParams(hash.replace(/^#/, ""))) {
    if (name.startsWith(SHOWN)) {
      shown[name.slice(SHOWN.length)] = text;
    } else {
      isSaid = true;
      if (name !== OWN) values[name] = text;
    }
  }
  return { values: isSaid ? values : null, shown };
}

/** Write an address; values are null on a page without controls. */
function writeAddress(values, shown) {
  const words = new URLSearchParams(values || {});
  if (values && Object.keys(values).length === 0) words.append(OWN, "");
  for (const [name, text] of Object.entries(shown)) if (text) words.append(SHOWN + name, text);
  return `#${words}`;
}

const LEFT = "gaitgen.left";

/** Leave what a page shows for its reload, which begins with the address as it was a moment before. */
function leaveForReload(hash, state) {
  try {
    window.sessionStorage.setItem(LEFT, JSON.stringify({ page: window.location.pathname, hash, state }));
  } catch {
    // where nothing can be stored the address has what was written last
  }
}

/** Put into the address what the page left there, if this is its reload. */
function takeUpAfterReload() {
  const [{ type } = {}] = window.performance.getEntriesByType("navigation");
  try {
    const left = JSON.parse(window.sessionStorage.getItem(LEFT));
    window.sessionStorage.removeItem(LEFT);
    if (type === "reload" && left && left.page === window.location.pathname) {
      window.history.replaceState(left.state, "", left.hash);
    }
  } catch {
    // see above
  }
}

if (typeof module !== "undefined") module.exports = { Changes, readAddress, writeAddress };
