// Opens the chosen sound input and hands over what comes in, as it is.

const KEPT_INPUT = "pegwood.sound-input";

// What a telephone call needs is poison for a light curve: each of these bends the level.
const AS_IT_IS = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
const SAID = { echoCancellation: "echo cancelling", noiseSuppression: "noise suppression", autoGainControl: "gain control" };

export const canListen = () => Boolean(navigator.mediaDevices?.getUserMedia && window.AudioWorkletNode);

export class Ear {
  /** `inputs`: the select that offers them; `tap`: the address of tap.js; `block`: frames handed over at a time. */
  constructor(inputs, tap, block) {
    this.inputs = inputs;
    this.address = tap;
    this.block = block;
    inputs.addEventListener("change", () => keep(KEPT_INPUT, inputs.value));
    if (canListen()) this.listInputs();
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

  /** `hear(block)`: an array of Float32Array, one for each channel; `hear(null)` after `stop()`, when that was all. */
  async open(hear, gone) {
    const device = this.inputs.value ? { deviceId: { exact: this.inputs.value } } : {};
    this.stream = await navigator.mediaDevices.getUserMedia({
      audio: { ...AS_IT_IS, ...device, channelCount: { ideal: 2 }, sampleRate: { ideal: 192000 } },
    });
    this.listInputs(); // names are told once the ear is allowed
    [this.track] = this.stream.getAudioTracks();
    const got = this.track.getSettings();
    // At the input's own rate nothing is resampled.
    this.context = new AudioContext(got.sampleRate ? { sampleRate: got.sampleRate } : {});
    await this.context.audioWorklet.addModule(this.address);
    this.tap = new AudioWorkletNode(this.context, "tap", {
      numberOfOutputs: 0,
      channelCountMode: "max",
      channelInterpretation: "discrete",
      processorOptions: { block: this.block },
    });
    this.source = this.context.createMediaStreamSource(this.stream);
    this.bent = Object.keys(AS_IT_IS).filter((name) => got[name] === true).map((name) => SAID[name]);
    this.tap.port.onmessage = ({ data }) => hear(data);
    this.track.addEventListener("ended", gone);
    this.source.connect(this.tap);
    await this.context.resume();
  }

  get rate() {
    return this.context.sampleRate;
  }

  get name() {
    return this.track?.label || "the usual sound input";
  }

  /** The tap answers with the rest, then with nothing. */
  stop() {
    this.tap?.port.postMessage("stop");
  }

  close() {
    this.source?.disconnect();
    this.stream?.getTracks().forEach((track) => track.stop());
    this.context?.close();
    this.context = this.source = this.stream = this.tap = null;
  }
}

export function why(trouble) {
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
    // a browser that keeps nothing still listens
  }
}

function kept(key) {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}
