// Hold a key, speak, let go. The ear stays open while the page says so; sound leaves for the server, on this bench,
// only while the key is held.

import { Ear, canListen, why } from "./ear.js";
import { Teaching } from "./teach.js";
import { token } from "./visit.js";

const RATE = 16000;
const BEFORE = 0.3 * RATE; // of what came in before the key was down: people speak at once
const AFTER_MS = 250;
const PIECE = 0.1 * RATE;
const KEPT = { key: "pegwood.speak-key", aloud: "pegwood.speak-aloud" };
const TYPED_IN = "input, select, textarea, summary, [contenteditable]";

/** To 16 kHz: a windowed sinc, cut at 7.2 kHz. */
class Down {
  constructor(rate) {
    this.step = rate / RATE;
    this.cut = Math.min(7200 / rate, 0.45);
    this.half = Math.ceil(12 * Math.max(1, this.step));
    this.left = new Float32Array(this.half);
    this.at = 0; // of the next sample out, in samples in, from the beginning of what is left
  }

  push(block) {
    const all = new Float32Array(this.left.length + block.length);
    all.set(this.left);
    all.set(block, this.left.length);
    const out = [];
    let at = this.at + this.half;
    for (; at + this.half < all.length; at += this.step) {
      let sum = 0;
      for (let i = Math.ceil(at - this.half); i <= at + this.half; i += 1) {
        const x = i - at;
        const sinc = Math.abs(x) < 1e-9 ? 2 * this.cut : Math.sin(2 * Math.PI * this.cut * x) / (Math.PI * x);
        sum += all[i] * sinc * (0.5 + 0.5 * Math.cos((Math.PI * x) / this.half));
      }
      out.push(sum);
    }
    const from = Math.max(0, Math.floor(at) - 2 * this.half);
    this.left = all.slice(from);
    this.at = at - this.half - from;
    return Float32Array.from(out);
  }
}

class Speak {
  constructor(place) {
    this.place = place;
    this.part = (name) => place.querySelector(`[data-part=${name}]`);
    this.base = place.dataset.base;
    this.tokens = [];
    this.before = new Float32Array(0);
    this.key = kept(KEPT.key) || " ";
    this.part("aloud").checked = kept(KEPT.aloud) === "yes";
    this.part("aloud").addEventListener("change", (event) => keep(KEPT.aloud, event.target.checked ? "yes" : ""));
    this.part("key").value = named(this.key);
    this.part("key").addEventListener("keydown", (event) => this.choose(event));
    this.part("written").addEventListener("submit", (event) => this.write(event));
    this.part("undo").addEventListener("click", () => this.undo());
    this.part("may-be").addEventListener("click", (event) => event.target.dataset.words && this.tell(event.target.dataset.words));
    const hold = this.part("hold");
    if (hold) this.wire(hold);
  }

  wire(hold) {
    if (!canListen()) {
      hold.disabled = this.part("open").disabled = true;
      this.say("This browser listens only over https or on the machine Pegwood runs on. Write it instead.");
      return;
    }
    this.ear = new Ear(this.part("input"), this.place.dataset.tap, 1024);
    this.part("open").addEventListener("click", () => (this.isOpen ? this.close() : this.open()));
    this.teaching = new Teaching(this.part, (where, body) => this.post(where, body));
    hold.addEventListener("pointerdown", (event) => {
      hold.setPointerCapture(event.pointerId);
      this.down();
    });
    for (const name of ["pointerup", "pointercancel"]) hold.addEventListener(name, () => this.up());
    document.addEventListener("keydown", (event) => {
      if (event.key !== this.key || event.ctrlKey || event.altKey || event.metaKey || !this.isOpen) return;
      if (event.target.closest?.(TYPED_IN)) return;
      event.preventDefault();
      if (!event.repeat) this.down();
    });
    document.addEventListener("keyup", (event) => {
      if (event.key !== this.key || !this.held) return;
      event.preventDefault();
      this.up();
    });
    window.addEventListener("blur", () => this.up());
  }

  async open() {
    this.part("open").disabled = true;
    try {
      await this.ear.open((block) => block && this.hear(block), () => this.close());
      this.isOpen = true;
      this.downsample = new Down(this.ear.rate);
      this.part("open").textContent = "Close the ear";
      this.part("hold").disabled = false;
      this.teaching.opened(true);
      this.say(`The ear is open (${this.ear.name}). Hold ${named(this.key)}, a pedal or the button, speak, let go.`);
    } catch (trouble) {
      this.ear.close();
      this.say(why(trouble));
    }
    this.part("open").disabled = false;
  }

  close() {
    this.isOpen = this.held = false;
    this.ear.close();
    this.part("hold").disabled = true;
    this.teaching.opened(false);
    this.part("open").textContent = "Open the ear";
    this.say("The ear is closed.");
  }

  hear(block) {
    const mono = new Float32Array(block[0].length);
    for (const channel of block) channel.forEach((value, i) => (mono[i] += value / block.length));
    const sound = this.downsample.push(mono);
    if (this.utterance) {
      this.utterance.sound = joined(this.utterance.sound, sound);
      if (this.utterance.sound.length >= PIECE && !this.teaching.isOn) this.send();
    } else {
      this.before = joined(this.before, sound).slice(-BEFORE);
    }
  }

  down() {
    if (this.held || !this.isOpen || this.utterance) return;
    this.held = true;
    speechSynthesis?.cancel();
    this.utterance = { ticket: crypto.randomUUID(), sound: this.before, at: 0, line: Promise.resolve() };
    this.part("hold").classList.add("held");
    this.say("Listening …");
  }

  up() {
    if (!this.held) return;
    this.held = false;
    this.part("hold").classList.remove("held");
    setTimeout(() => this.finish(), AFTER_MS); // the last sound is still on its way
  }

  send() {
    const one = this.utterance;
    const bytes = pcm16(one.sound);
    const at = one.at;
    one.sound = new Float32Array(0);
    one.at += bytes.byteLength;
    one.line = one.line.then(() => one.answer ?? this.post(`${one.ticket}/sound/?at=${at}`, bytes)).then((answer) => {
      if (answer?.refused) one.answer = answer;
    });
  }

  async finish() {
    const one = this.utterance;
    if (!one) return;
    if (this.teaching.isOn) {
      this.utterance = null;
      this.before = new Float32Array(0);
      await this.teaching.take(pcm16(one.sound));
      return;
    }
    if (one.sound.length) this.send();
    this.utterance = null;
    this.before = new Float32Array(0);
    await one.line;
    this.show(one.answer ?? (await this.post(`${one.ticket}/said/`, "")));
  }

  async post(where, body) {
    try {
      const response = await fetch(this.base + where, {
        method: "POST",
        body,
        headers: { Accept: "application/json", "X-CSRFToken": token() },
      });
      return await response.json();
    } catch {
      return { refused: "The line is down, or the visit has ended: nothing was done. Load the page again." };
    }
  }

  form(fields) {
    const form = new FormData();
    for (const [name, value] of Object.entries(fields)) form.set(name, value);
    return form;
  }

  write(event) {
    event.preventDefault();
    const field = event.target.elements.words;
    if (field.value.trim()) this.tell(field.value);
    field.value = "";
  }

  async tell(words) {
    this.show(await this.post("written/", this.form({ words })));
  }

  async undo() {
    if (!this.tokens.length) return this.show({ refused: "Nothing was told since this page was opened." });
    const answer = await this.post("back/", this.form({ token: this.tokens.at(-1) }));
    if (!answer.refused) this.tokens.pop();
    return this.show(answer);
  }

  show(answer) {
    if (answer.kind === "undo" && !answer.says) return this.undo();
    if (answer.kind === "read back") return this.aloud(this.last || "Nothing was told yet.");
    if (answer.kind === "stop listening") return this.close?.();
    if (answer.token) this.tokens.push(answer.token);
    const big = answer.refused ?? answer.ask ?? answer.says ?? "";
    const card = this.part("card");
    card.className = answer.refused || answer.ask ? "heard asked" : "heard";
    this.part("does").textContent = big || answer.words;
    this.part("heard").textContent = answer.words ? `Heard: ${answer.words}` : "";
    this.part("may-be").replaceChildren(...(answer.may_be ?? []).map((one) => choice(one.words)));
    this.part("undo").disabled = !this.tokens.length;
    if (!answer.refused && !answer.ask) {
      this.last = big;
      const line = document.createElement("li");
      line.textContent = big || answer.words;
      this.part("log").prepend(line);
    }
    if (this.isOpen) this.say(`The ear is open. Hold ${named(this.key)}, a pedal or the button.`);
    if (this.part("aloud").checked) this.aloud(big);
    if (answer.go) window.location.assign(answer.go);
    return undefined;
  }

  aloud(words) {
    if (!window.speechSynthesis) return;
    speechSynthesis.cancel();
    const said = new SpeechSynthesisUtterance(words);
    said.lang = "en";
    speechSynthesis.speak(said);
    this.part("does").textContent = words;
  }

  choose(event) {
    if (event.key === "Tab") return;
    event.preventDefault();
    this.key = event.key;
    keep(KEPT.key, event.key);
    event.target.value = named(event.key);
  }

  say(words) {
    this.part("input-says").textContent = words;
  }
}

function choice(words) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  button.dataset.words = words;
  button.textContent = words;
  return button;
}

function joined(one, two) {
  const both = new Float32Array(one.length + two.length);
  both.set(one);
  both.set(two, one.length);
  return both;
}

function pcm16(sound) {
  const view = new DataView(new ArrayBuffer(2 * sound.length));
  sound.forEach((value, i) => view.setInt16(2 * i, Math.round(32767 * Math.max(-1, Math.min(1, value))), true));
  return view.buffer;
}

const named = (key) => (key === " " ? "Space" : key);

function keep(name, value) {
  try {
    localStorage.setItem(name, value);
  } catch {
    // a browser that keeps nothing still listens
  }
}

function kept(name) {
  try {
    return localStorage.getItem(name);
  } catch {
    return null;
  }
}

for (const place of document.querySelectorAll("[data-speak]")) new Speak(place);
