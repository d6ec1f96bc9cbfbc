// Records the sound input as it is and lays the file into the form: from there it goes the way of any other file.
import { WavWriter } from "./wav.js";

const LARGEST_BYTES = 400 * 1024 * 1024;
const FULL = 0.999; // of full scale: from here on the top is cut off
const KEPT_INPUT = "pegwood.sound-input";

// What a telephone call needs is poison for a light curve: each of these bends the level.
const AS_IT_IS = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };

class Recorder {
  constructor(place) {
    this.place = place;
    this.part = (name) => place.querySelector(`[data-part=${name}]`);
    this.file = document.getElementById(place.dataset.file);
    this.inputs = this.part("input");
    this.button = this.part("button");
    this.button.addEventListener("click", () => (this.running ? this.stop() : this.start()));
    this.inputs.addEventListener("change", () => keep(KEPT_INPUT, this.inputs.value));
    if (!navigator.mediaDevices?.getUserMedia || !window.AudioWorkletNode) {
      this.button.disabled = true;
      this.say("This browser records only over https or on the machine Pegwood runs on. Send a file instead.");
      return;
    }
    this.listInputs();
  }

  say(words) {
    this.part("said").textContent = words;
  }

  async listInputs() {
    const found = (await navigator.mediaDevices.enumerateDevices()).filter((d) => d.kind === "audioinput");
    const chosen = this.inputs.value || kept(KEPT_INPUT);
    const named = found.filter((d) => d.deviceId && d.label);
    this.inputs.replaceChildren(
      new Option("the usual one", ""),
      ...named.map((d) => new Option(d.label, d.deviceId, false, d.deviceId === chosen)),
    );
  }

  async start() {
    this.button.disabled = true;
    try {
      await this.open();
    } catch (trouble) {
      this.close();
      this.say(why(trouble));
    }
    this.button.disabled = false;
  }

  async open() {
    const device = this.inputs.value ? { deviceId: { exact: this.inputs.value } } : {};
    this.stream = await navigator.mediaDevices.getUserMedia({
      audio: { ...AS_IT_IS, ...device, channelCount: { ideal: 2 }, sampleRate: { ideal: 192000 } },
    });
    this.listInputs(); // names are told once the ear is allowed
    const [track] = this.stream.getAudioTracks();
    const got = track.getSettings();
    // At the input's own rate nothing is resampled.
    this.context = new AudioContext(got.sampleRate ? { sampleRate: got.sampleRate } : {});
    await this.context.audioWorklet.addModule(this.place.dataset.tap);
    this.tap = new AudioWorkletNode(this.context, "tap", {
      numberOfOutputs: 0,
      channelCountMode: "max",
      channelInterpretation: "discrete",
    });
    this.source = this.context.createMediaStreamSource(this.stream);
    this.wav = null;
    this.full = false;
    this.longest_s = Number(this.place.dataset.longest);
    this.shown = 0;
    this.bent = Object.keys(AS_IT_IS).filter((name) => got[name] === true);
    this.tap.port.onmessage = ({ data }) => (data ? this.hear(data) : this.finish());
    track.addEventListener("ended", () => this.running && this.stop());
    this.source.connect(this.tap);
    await this.context.resume();
    this.running = true;
    this.part("level").hidden = false;
    this.button.textContent = "Stop";
    this.say("Listening. Fire the shutter a few times, with a second of rest between.");
  }

  hear(block) {
    this.wav ??= new WavWriter(this.context.sampleRate, block.length);
    this.show(this.wav.add(block));
    this.full = this.wav.seconds > this.longest_s || this.wav.bytes > LARGEST_BYTES;
    if (this.full) this.stop();
  }

  show(peak) {
    // The needle falls slowly enough to be read.
    this.shown = Math.max(peak, this.shown * 0.92);
    const level = this.part("level");
    level.querySelector("i").style.width = `${Math.min(100, 100 * this.shown)}%`;
    level.classList.toggle("full", this.wav.peak >= FULL);
    const now = Math.floor(this.wav.seconds * 2);
    if (now === this.tick) return;
    this.tick = now;
    this.part("figures").textContent =
      `${this.wav.seconds.toFixed(1)} s · highest so far ${Math.round(100 * this.wav.peak)} % of full scale`;
  }

  stop() {
    if (!this.running) return; // blocks that were on their way come in after it
    this.running = false;
    this.button.disabled = true;
    this.tap.port.postMessage("stop"); // it answers with the rest, then with nothing
  }

  async finish() {
    const wav = this.wav;
    const bent = this.bent;
    this.close();
    this.button.disabled = false;
    this.button.textContent = "Record again";
    if (!wav?.frames || wav.peak === 0) {
      this.say("Nothing came in at all. Choose another input, or look at its plug and its level.");
      return;
    }
    const blob = await wav.finish();
    const name = `${this.place.dataset.name}-${this.marking()}.wav`;
    const file = new File([blob], name, { type: "audio/wav" });
    const held = new DataTransfer();
    held.items.add(file);
    this.file.files = held.files;
    this.file.dispatchEvent(new Event("change", { bubbles: true }));
    this.file.form.dataset.unsent = "yes";
    this.offer(file);
    const lines = [`${wav.seconds.toFixed(1)} s at ${wav.sampleRate} Hz are ready to be sent.`];
    if (this.full) lines.push("It stopped by itself: longer is not taken.");
    if (wav.peak >= FULL) lines.push("The top was cut off: turn the level down and record again.");
    if (bent.length) lines.push("This browser bends the sound (echo or gain control): send a file instead.");
    this.say(lines.join(" "));
  }

  offer(file) {
    const save = this.part("save");
    URL.revokeObjectURL(save.href);
    save.href = URL.createObjectURL(file);
    save.download = file.name;
    save.hidden = false;
  }

  marking() {
    const typed = this.file.form.elements.other_marking?.value.trim();
    const chosen = this.file.form.querySelector("input[name=marked]:checked")?.value;
    return (typed || chosen || "speed").replace(/[^\w.]+/g, "-");
  }

  close() {
    this.running = false;
    this.part("level").hidden = true;
    this.button.textContent = "Record";
    this.source?.disconnect();
    this.stream?.getTracks().forEach((track) => track.stop());
    this.context?.close();
    this.context = this.source = this.stream = this.tap = null;
  }
}

function why(trouble) {
  if (trouble.name === "NotAllowedError") return "The browser was not allowed to listen. Allow the microphone for this page.";
  if (trouble.name === "NotFoundError" || trouble.name === "OverconstrainedError")
    return "That sound input is not there. Plug it in or choose another.";
  if (trouble.name === "NotReadableError") return "Another program holds the sound input. Close it and try again.";
  return `The sound input could not be opened (${trouble.message}). Send a file instead.`;
}

function keep(key, value) {
  try {
    localStorage.setItem(key, value);
  } catch {
    // a browser that keeps nothing still records
  }
}

function kept(key) {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

for (const place of document.querySelectorAll("[data-recorder]")) {
  place.hidden = false;
  new Recorder(place);
}
