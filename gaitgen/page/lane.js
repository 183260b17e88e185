// Talking to the server: one thing after the other, and of those that wait only the last of its kind.

const PATIENCE_MS = 90_000;

class Lane {
  /** `onState` is told whether anything is under way. */
  constructor(onState) {
    this.onState = onState;
    this.waiting = new Map();
    this.isBusy = false;
  }

  /** Do something when its turn comes; it takes the place of what waits under the same name. */
  put(name, act) {
    this.waiting.set(name, act);
    if (!this.isBusy) this.run();
  }

  async run() {
    this.isBusy = true;
    this.onState(true);
    try {
      while (this.waiting.size > 0) {
        const [name, act] = this.waiting.entries().next().value;
        this.waiting.delete(name);
        await act();
      }
    } finally {
      this.isBusy = false;
      this.onState(false);
    }
  }
}

/** Fetch JSON: {answer}, or {trouble} in one line, with {isRefused} if the server said so. */
async function fetchJson(where, options = {}) {
  try {
    const reply = await fetch(where, { ...options, signal: AbortSignal.timeout(PATIENCE_MS) });
    const answer = await reply.json();
    return reply.ok ? { answer } : { trouble: answer.error, isRefused: true };
  } catch (fault) {
    const isLate = fault.name === "TimeoutError";
    if (!isLate && !(fault instanceof TypeError || fault instanceof SyntaxError)) throw fault;
    const how = isLate ? `does not answer within ${PATIENCE_MS / 1000} s` : "does not answer";
    return { trouble: `gaitgen ${how}; is it still running?` };
  }
}

if (typeof module !== "undefined") module.exports = { Lane };
