// The line to the server while the page listens. Pieces of sound and steps wait here until the server has them,
// and go in order, one at a time. What waits while the line is down is kept in this browser as well, so that a
// page that is loaded anew can send it.

import { token } from "./visit.js";

const MOST_AT_ONCE = 512 * 1024; // bytes
const MOST_WAITING = 300 * 1024 * 1024; // bytes
const AGAIN_MS = 1000;
const REMEMBERED = 3 * 1024 * 1024; // bytes that the server has, in case it loses its last seconds

export class Line {
  /** `told`: { state(answer), trouble(kind, words), clear() }. */
  constructor(base, ticket, voice, told) {
    this.base = `${base}${ticket}/`;
    this.ticket = ticket;
    this.voice = voice;
    this.told = told;
    this.pieces = []; // { at, bytes }
    this.sent = [];
    this.steps = [];
    this.knows = "";
    this.notBefore = 0;
    this.down = false;
    window.addEventListener("online", () => this.pump(true));
    window.addEventListener("pagehide", () => this.last());
  }

  begin({ rate, channels, last, have }) {
    Object.assign(this, { rate, channels, lastStep: last, have });
    this.frame = 3 * channels;
  }

  get waiting() {
    return this.pieces.reduce((sum, piece) => sum + piece.bytes.length, 0);
  }

  get seconds() {
    return this.waiting / this.frame / this.rate;
  }

  get end() {
    const last = this.pieces.at(-1);
    return last ? last.at + last.bytes.length / this.frame : this.have;
  }

  get isFull() {
    return this.waiting > MOST_WAITING;
  }

  step(entry) {
    this.lastStep += 1;
    this.steps.push({ ...entry, n: this.lastStep });
    if (this.down) this.shelve();
    this.pump();
  }

  push(bytes) {
    const piece = { at: this.end, bytes, voice: this.voice };
    this.pieces.push(piece);
    if (this.down) store.put(this.ticket, [piece]);
    this.pump();
  }

  /** Send what waits, if nothing is on its way. */
  async pump(now = false) {
    if (this.busy || this.closed || (!now && performance.now() < this.notBefore)) return;
    if (!this.steps.length && !this.pieces.length) return;
    this.busy = true;
    try {
      await (this.steps.length ? this.sendStep() : this.sendSound());
    } catch {
      this.lost("The line is down.");
    }
    this.busy = false;
    if (this.steps.length || this.pieces.length) this.pump();
  }

  async sendStep() {
    const [entry] = this.steps;
    const answer = await this.post("step/", JSON.stringify(entry), "application/json");
    if (!answer) return;
    this.steps.shift();
    if (answer.status === 422) this.told.trouble("refused", answer.refused);
    else this.arrived(answer);
  }

  async sendSound() {
    const [{ at, voice }] = this.pieces;
    let bytes = 0;
    const together = this.pieces.filter((piece) => piece.voice === voice && ((bytes += piece.bytes.length) <= MOST_AT_ONCE || piece.at === at));
    const address = `sound/?at=${at}&voice=${voice}&knows=${this.knows}`;
    const answer = await this.post(address, new Blob(together.map((piece) => piece.bytes)), "application/octet-stream");
    if (!answer) return;
    if (answer.status === 422 || (answer.status === 409 && answer.refused)) {
      this.closed = true;
      this.told.trouble("refused", answer.refused);
    } else if (answer.status === 409) this.missing(answer.have);
    else this.arrived(answer);
  }

  /** The answer with its status; nothing where it was not taken and goes again. */
  async post(address, body, kind) {
    const response = await fetch(this.base + address, {
      method: "POST",
      body,
      headers: { "Content-Type": kind, "X-CSRFToken": token(), Accept: "application/json" },
    });
    if (response.status === 401 || response.status === 403) return this.lost("You are signed out.", "signed out");
    if (response.status === 404) {
      this.closed = true;
      return this.told.trouble("refused", "The server has no such session any more: it was kept, or thrown away.");
    }
    if (response.status >= 500) return this.lost("The server does not answer.");
    return { ...(await response.json()), status: response.status };
  }

  arrived(answer) {
    this.have = answer.have;
    while (this.pieces.length && this.pieces[0].at + this.pieces[0].bytes.length / this.frame <= this.have)
      this.sent.push(this.pieces.shift());
    let bytes = this.sent.reduce((sum, piece) => sum + piece.bytes.length, 0);
    while (bytes > REMEMBERED) bytes -= this.sent.shift().bytes.length;
    if (this.down) {
      store.drop(this.ticket, this.have);
      if (!this.pieces.length && !this.steps.length) this.up();
      else this.told.trouble("catching up", `The line is back. ${this.seconds.toFixed(0)} s are still to be sent.`);
    }
    if (answer.version) this.knows = answer.version;
    this.told.state(answer);
  }

  up() {
    this.down = false;
    this.shelve();
    this.told.clear();
  }

  lost(words, kind = "down") {
    this.notBefore = performance.now() + AGAIN_MS;
    if (!this.down) {
      this.down = true;
      store.put(this.ticket, this.pieces);
      this.shelve();
    }
    clearTimeout(this.timer); // blocks that come in try again; without them this does
    this.timer = setTimeout(() => this.pump(true), 2 * AGAIN_MS);
    this.told.trouble(kind, `${words} What is heard is kept here (${this.seconds.toFixed(0)} s) and sent when it is back.`);
  }

  /** The server has less than it said: its power went. What is still known here is sent once more. */
  missing(have) {
    const known = this.sent.filter((piece) => piece.at + piece.bytes.length / this.frame > have);
    if (known.length && known[0].at <= have) {
      this.pieces.unshift(...known);
      this.sent = [];
      return;
    }
    const shift = this.pieces[0].at - have;
    this.pieces.forEach((piece) => (piece.at -= shift));
    this.told.gap(have);
  }

  /** What an earlier page of this session could not send. */
  async takeUp() {
    this.pieces = (await store.all(this.ticket)).filter((piece) => piece.at + piece.bytes.length / this.frame > this.have);
    this.steps = shelved(this.ticket).filter((entry) => entry.n > this.lastStep);
    this.lastStep = this.steps.at(-1)?.n ?? this.lastStep;
    if (this.pieces.length || this.steps.length) this.down = true;
    this.pump();
  }

  /** The page goes: the last moment is sent along. */
  last() {
    const piece = this.pieces[0];
    if (this.down || this.closed || this.busy || !piece || piece.bytes.length > 60_000) return;
    fetch(`${this.base}sound/?at=${piece.at}&voice=${this.voice}`, {
      method: "POST",
      keepalive: true,
      body: piece.bytes,
      headers: { "Content-Type": "application/octet-stream", "X-CSRFToken": token(), Accept: "application/json" },
    }).catch(() => {});
  }

  shelve() {
    try {
      if (this.steps.length) localStorage.setItem(`pegwood.live.${this.ticket}`, JSON.stringify(this.steps));
      else localStorage.removeItem(`pegwood.live.${this.ticket}`);
    } catch {
      // a browser that keeps nothing still sends
    }
  }
}

function shelved(ticket) {
  try {
    return JSON.parse(localStorage.getItem(`pegwood.live.${ticket}`)) ?? [];
  } catch {
    return [];
  }
}

// Pieces of sound in this browser's own database. Where it has none, they wait in memory only.
const store = {
  async open() {
    this.opened ??= new Promise((done, failed) => {
      const asked = indexedDB.open("pegwood-live", 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("pieces", { keyPath: ["ticket", "at"] });
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => failed(asked.error);
    });
    return this.opened;
  },
  range: (ticket, below = Infinity) => IDBKeyRange.bound([ticket, 0], [ticket, below], false, true),
  async put(ticket, pieces) {
    try {
      const into = (await this.open()).transaction("pieces", "readwrite").objectStore("pieces");
      for (const piece of pieces) into.put({ ticket, ...piece });
    } catch {
      // full, or switched off
    }
  },
  async drop(ticket, below) {
    try {
      (await this.open()).transaction("pieces", "readwrite").objectStore("pieces").delete(this.range(ticket, below));
    } catch {
      // nothing was kept
    }
  },
  async all(ticket) {
    try {
      const from = (await this.open()).transaction("pieces").objectStore("pieces");
      return await new Promise((done, failed) => {
        const asked = from.getAll(this.range(ticket));
        asked.onsuccess = () => done(asked.result.map(({ at, bytes, voice }) => ({ at, bytes, voice })));
        asked.onerror = () => failed(asked.error);
      });
    } catch {
      return [];
    }
  },
};
