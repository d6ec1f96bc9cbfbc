// Listens while a shutter is fired down its speeds. The server hears every piece of sound and says what there is
// to show; this page hands the sound on, and the taps, keys and pedals.

import { Ear, canListen, why } from "./ear.js";
import { Line } from "./line.js";
import { signIn, token } from "./visit.js";
import { BYTES, pcm24, wavHead } from "./wav.js";

const BLOCK_S = 0.04;
const FULL = 0.999;
const KEYS = {
  " ": "next", Enter: "next", ArrowRight: "next", PageDown: "next",
  ArrowLeft: "back", PageUp: "back",
  Delete: "strike", Backspace: "strike",
  Home: "again",
};
const OWN_KEYS = "input, select, textarea, summary, a, [contenteditable]";

class Live {
  constructor(place) {
    this.place = place;
    this.part = (name) => place.querySelector(`[data-part=${name}]`);
    this.base = place.dataset.base;
    this.voice = Math.random().toString(36).slice(2); // tells this page from another that has the same session
    this.speeds = [];
    this.shown = 0;
    this.peak = 0;
    this.ear = new Ear(this.part("input"), place.dataset.tap, 2048);
    this.part("start")?.addEventListener("click", () => this.start());
    this.part("listen").addEventListener("click", () => (this.running ? this.stop() : this.start()));
    place.addEventListener("click", (event) => this.clicked(event));
    place.addEventListener("submit", (event) => this.submitted(event));
    document.addEventListener("keydown", (event) => this.pressed(event));
    this.part("save").addEventListener("click", () => this.save());
    if (!canListen()) this.refuse("This browser listens only over https or on the machine Pegwood runs on. Send a recording instead.");
    if (place.dataset.ticket) this.takeUp(place.dataset.ticket);
  }

  // --- a session ------------------------------------------------------------------------------------------

  newLine(ticket) {
    this.line = new Line(this.base, ticket, this.voice, {
      state: (answer) => this.show(answer),
      trouble: (kind, words) => this.trouble(kind, words),
      clear: () => this.quiet(),
      gap: (at) => this.line.step({ do: "listen", at, voice: this.voice, device: this.ear.name, bent: this.ear.bent ?? [] }),
    });
  }

  async takeUp(ticket) {
    this.newLine(ticket);
    try {
      const response = await fetch(`${this.base}${ticket}/state/`, { headers: { Accept: "application/json" } });
      const state = await response.json();
      this.line.begin(state);
      await this.line.takeUp();
      this.show(state);
      this.part("pedals").hidden = false;
    } catch {
      this.refuse("The line is down. Load the page again when it is back; what was heard is kept.");
    }
  }

  async start() {
    this.refuse("");
    this.enable(false);
    try {
      await this.ear.open((block) => (block ? this.hear(block) : this.stopped()), () => this.unplugged());
    } catch (trouble) {
      this.ear.close();
      this.ready();
      this.refuse(why(trouble));
      return;
    }
    this.early = [];
    this.running = true;
    this.listening();
  }

  /** The first block tells how many channels there are; only then can the session begin. */
  async hear(block) {
    if (!this.channels) {
      this.channels = Math.min(2, block.length);
      this.begin();
    }
    const { bytes, peak } = pcm24(block, this.channels);
    this.level(peak);
    this.heardAt = performance.now();
    if (this.early) this.early.push(bytes);
    else this.gather(bytes);
    if (this.line?.isFull) {
      this.stop();
      this.refuse("More waits than this browser can hold. Save it as a file, then look after the line.");
    }
  }

  gather(bytes) {
    this.fresh = this.fresh ? joined(this.fresh, bytes) : bytes;
    if (this.fresh.length < BLOCK_S * this.ear.rate * this.line.frame && this.running) return;
    this.line.push(this.fresh);
    this.fresh = null;
  }

  async begin() {
    const rate = this.ear.rate;
    if (!this.line) {
      const plan = new FormData(this.part("plan"));
      const ticket = crypto.randomUUID();
      plan.set("ticket", ticket);
      plan.set("rate", rate);
      plan.set("channels", this.channels);
      let answer;
      try {
        const response = await fetch(this.place.dataset.begin, { method: "POST", body: plan, headers: { Accept: "application/json" } });
        answer = await response.json();
        if (!response.ok) throw new Error(answer.refused);
      } catch (trouble) {
        this.channels = null;
        this.running = false;
        this.ear.close();
        this.ready();
        this.refuse(trouble.message || "The line is down. Nothing was begun.");
        return;
      }
      this.newLine(ticket);
      this.line.begin(answer);
      this.show(answer);
      this.speed = ""; // nothing is written down yet
      this.part("plan").remove();
      this.part("first").remove();
      window.scrollTo(0, 0); // whoever tapped speeds away stands far down, and what is fired shows at the top
      history.replaceState(null, "", `${this.base}?session=${ticket}`);
    } else if (this.line.rate !== rate || this.line.channels !== this.channels) {
      this.running = false;
      this.ear.close();
      this.channels = null;
      this.ready();
      this.refuse(`This input gives ${rate} Hz; the session was begun at ${this.line.rate} Hz. Keep what there is, then begin anew, or plug the other input in.`);
      return;
    }
    this.line.step({ do: "listen", at: this.line.end, voice: this.voice, device: this.ear.name, bent: this.ear.bent });
    if (!this.speed) this.go(this.speeds[0]);
    this.early.splice(0).forEach((bytes) => this.gather(bytes));
    this.early = null;
    this.part("bar").hidden = this.part("pedals").hidden = false;
    this.awake();
  }

  stop() {
    if (!this.running) return;
    this.running = false;
    this.ear.stop();
  }

  /** The tap has handed over the rest. */
  stopped() {
    if (this.fresh) this.line?.push(this.fresh);
    this.fresh = null;
    this.channels = null;
    this.ear.close();
    this.ready();
    this.part("listen").textContent = "Listen again";
    if (!this.gone) this.say("Not listening. What was heard is kept; keep it with the job when all is fired.");
    this.gone = false;
    this.whenStopped?.();
  }

  unplugged() {
    if (!this.running) return;
    this.gone = true;
    this.say("The sound input went away. What was heard is kept: plug it in and listen again.");
    this.stop();
    const { context } = this.ear;
    setTimeout(() => context && this.ear.context === context && this.stopped(), 500); // a dead input may never answer
  }

  async awake() {
    try {
      await navigator.wakeLock?.request("screen");
    } catch {
      // the screen may go dark; it goes on listening
    }
  }

  // --- what is shown --------------------------------------------------------------------------------------

  show(answer) {
    if (!answer.html) return;
    const first = !this.speeds.length;
    // An answer still under way when the dial was turned: its firings belong to the speed before.
    if (!first && answer.speed !== this.speed && this.line.steps.some((entry) => entry.do === "go")) return;
    const held = document.activeElement?.id;
    const stage = this.part("stage");
    const open = stage.querySelector("details[open]");
    stage.innerHTML = answer.html;
    if (open) stage.querySelector("details")?.setAttribute("open", "");
    if (held && !document.getElementById(held)?.matches(":focus")) stage.querySelector(`#${CSS.escape(held)}`)?.focus();
    this.speeds = answer.speeds;
    this.standing = answer.standing;
    const came = answer.speed !== this.speed;
    if (first || !this.line.steps.some((entry) => entry.do === "go")) this.speed = answer.speed;
    if (!first) this.tell(stage);
    if (answer.done && !came && !this.wasDone && answer.moves_on && this.running) this.next();
    this.wasDone = answer.done;
  }

  tell(stage) {
    const words = [".just-fired h2", ".just-fired .huge", ".just-fired .figure .large", ".just-fired .flag", "[data-says]"]
      .map((where) => stage.querySelector(where)?.textContent.trim().replace(/\s+/g, " "))
      .filter(Boolean)
      .join(". ");
    if (this.part("told").textContent !== words) this.part("told").textContent = words;
  }

  level(peak) {
    this.shown = Math.max(peak, this.shown * 0.92);
    this.peak = Math.max(peak, this.peak);
    const level = this.part("level");
    level.querySelector("i").style.width = `${Math.min(100, 100 * this.shown)}%`;
    level.classList.toggle("full", this.peak >= FULL);
    const percent = `highest so far ${Math.round(100 * this.peak)} %`;
    if (this.percent === percent) return;
    this.percent = percent;
    const cut = this.peak >= FULL ? " · the top was cut off: turn the level down" : "";
    this.part("figures").textContent = `${percent}${cut}`;
  }

  listening() {
    document.body.classList.add("listening");
    this.part("level").hidden = false;
    this.part("listen").disabled = false;
    this.part("listen").className = "quiet";
    this.part("listen").textContent = "Stop listening";
    this.part("bar").hidden = false;
    const bent = this.ear.bent.length ? ` This browser bends the sound (${this.ear.bent.join(", ")}): figures cannot be trusted; send a recording instead.` : "";
    this.say(`Listening to ${this.ear.name}, ${this.ear.rate} Hz.${bent}`);
    this.part("input-says").classList.toggle("flag", Boolean(bent));
  }

  ready() {
    document.body.classList.remove("listening");
    this.part("level").hidden = true;
    this.enable(true);
    this.part("listen").className = "big";
  }

  enable(is) {
    for (const button of [this.part("start"), this.part("listen")]) if (button) button.disabled = !is;
  }

  say(words) {
    this.part("input-says").textContent = words;
  }

  refuse(...words) {
    const place = this.part("refused");
    place.replaceChildren(...words);
    place.hidden = !place.textContent;
    if (!place.hidden) place.focus();
  }

  trouble(kind, words) {
    if (kind === "refused") {
      this.refuse(words);
      if (this.line.closed) this.stop();
      this.part("line").hidden = !this.line.waiting;
    } else {
      const says = this.part("line-says");
      if (kind === "signed out" && !says.querySelector("a")) says.replaceChildren(words, " ", signIn());
      else if (kind !== "signed out") says.textContent = words;
      this.part("line").hidden = false;
    }
    this.part("save").hidden = !this.line.waiting;
    if (this.part("save").hidden) return;
    this.part("save").href = "#save";
  }

  quiet() {
    this.part("line").hidden = true;
    this.part("line-says").textContent = "";
    this.refuse("");
  }

  save() {
    const link = this.part("save");
    const { rate, channels, pieces, waiting } = this.line;
    const blob = new Blob([wavHead(rate, channels, waiting), ...pieces.map((piece) => piece.bytes), new Uint8Array(waiting % 2)], { type: "audio/wav" });
    URL.revokeObjectURL(link.href);
    link.href = URL.createObjectURL(blob);
    link.download = `${this.place.dataset.name}-waiting.wav`;
  }

  // --- what is done ---------------------------------------------------------------------------------------

  /** The frame it is now: what was handed over, and what has come in since. */
  get at() {
    const frames = this.line.end + (this.fresh?.length ?? 0) / (BYTES * this.line.channels);
    const since = this.running ? ((performance.now() - this.heardAt) / 1000) * this.line.rate : 0;
    return Math.round(frames + Math.min(since, 4096));
  }

  go(speed) {
    if (!speed || speed === this.speed) return;
    this.speed = speed;
    this.wasDone = true; // until the server says of this speed that it is not
    this.standing = [];
    this.turnTo(speed);
    this.line.step({ do: "go", at: this.at, speed });
  }

  /** At once, even while the line is down: what stood there belongs to the speed before. */
  turnTo(speed) {
    const heads = { ".dial-at": speed, ".firings-now > h2": speed, ".just-fired > h2": "No firing yet" };
    for (const [where, words] of Object.entries(heads)) {
      const head = this.part("stage").querySelector(where);
      if (head) head.textContent = words;
    }
    for (const old of this.part("stage").querySelectorAll(":is(.just-fired, .firings-now) > :not(h2), .pips")) old.remove();
  }

  next() {
    this.go(this.speeds[this.speeds.indexOf(this.speed) + 1]);
  }

  back() {
    this.go(this.speeds[this.speeds.indexOf(this.speed) - 1]);
  }

  strike(...firings) {
    if (firings.length) this.line.step({ do: "strike", at: this.at, firings });
  }

  act(what, from) {
    if (!this.line) return;
    const firing = Number(from?.dataset.firing);
    if (what === "next") this.next();
    else if (what === "back") this.back();
    else if (what === "go") this.go(from.dataset.speed);
    else if (what === "take back") this.line.step({ do: "take back", at: this.at, firings: [firing] });
    else if (what === "again") this.strike(...this.standing);
    else if (what === "strike") this.strike(...(firing ? [firing] : this.standing.slice(-1)));
  }

  clicked(event) {
    const button = event.target.closest?.("[data-do]");
    if (!button || !this.place.contains(button)) return;
    this.act(button.dataset.do, button);
    // A pedal sends the space bar: it must not press again what a finger pressed before.
    if (event.detail) button.blur();
  }

  pressed(event) {
    const what = KEYS[event.key];
    if (!what || !this.line || event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
    if (event.target.closest?.(OWN_KEYS)) return;
    if (event.target.closest?.("button") && (event.key === " " || event.key === "Enter")) return;
    event.preventDefault();
    this.act(what);
  }

  /** All that was heard is sent before the session is kept. */
  async submitted(event) {
    const form = event.target.closest("form[data-keep-session], form[data-drop-session]");
    if (!form || !this.line || form.dataset.ready) return;
    event.preventDefault();
    form.querySelector("button").disabled = true;
    const address = form.action;
    if (this.running) {
      const done = new Promise((resolve) => (this.whenStopped = resolve));
      this.stop();
      await done;
    }
    while (!this.line.closed && (this.line.pieces.length || this.line.steps.length)) {
      this.line.pump();
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
    // The stage may have been drawn anew meanwhile.
    const now = [...this.place.querySelectorAll("form")].find((one) => one.action === address) ?? form;
    now.dataset.ready = "yes";
    now.elements.csrfmiddlewaretoken.value = token();
    now.submit();
  }
}

function joined(one, two) {
  const both = new Uint8Array(one.length + two.length);
  both.set(one);
  both.set(two, one.length);
  return both;
}

for (const place of document.querySelectorAll("[data-live]")) new Live(place);
