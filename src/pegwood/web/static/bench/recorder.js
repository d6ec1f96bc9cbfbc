// Records the sound input as it is and lays the file into the form: from there it goes the way of any other file.
import { Ear, canListen, why } from "./ear.js";
import { WavWriter } from "./wav.js";

const LARGEST_BYTES = 400 * 1024 * 1024;
const FULL = 0.999; // of full scale: from here on the top is cut off

class Recorder {
  constructor(place) {
    this.place = place;
    this.part = (name) => place.querySelector(`[data-part=${name}]`);
    this.file = document.getElementById(place.dataset.file);
    this.ear = new Ear(this.part("input"), place.dataset.tap, 4096);
    this.button = this.part("button");
    this.button.addEventListener("click", () => (this.running ? this.stop() : this.start()));
    if (!canListen()) {
      this.button.disabled = true;
      this.say("This browser records only over https or on the machine Pegwood runs on. Send a file instead.");
    }
  }

  say(words) {
    this.part("said").textContent = words;
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
    this.wav = null;
    this.full = false;
    this.longest_s = Number(this.place.dataset.longest);
    this.shown = 0;
    await this.ear.open(
      (block) => (block ? this.hear(block) : this.finish()),
      () => this.running && this.stop(),
    );
    this.running = true;
    this.part("level").hidden = false;
    this.button.textContent = "Stop";
    this.say("Listening. Fire the shutter a few times, with a second of rest between.");
  }

  hear(block) {
    this.wav ??= new WavWriter(this.ear.rate, block.length);
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
    this.ear.stop();
  }

  async finish() {
    const wav = this.wav;
    const bent = this.ear.bent;
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
    if (bent.length) lines.push("This browser bends the sound: send a file instead.");
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
    this.ear.close();
  }
}

for (const place of document.querySelectorAll("[data-recorder]")) {
  place.hidden = false;
  new Recorder(place);
}
