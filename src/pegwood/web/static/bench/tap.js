// Runs beside the sound: hands over what comes in, unchanged, in blocks of as many frames as were asked for.

class Tap extends AudioWorkletProcessor {
  constructor({ processorOptions }) {
    super();
    this.block = Math.max(128, processorOptions.block);
    this.blocks = null;
    this.filled = 0;
    this.port.onmessage = () => {
      this.#hand();
      this.port.postMessage(null); // that was all
      this.done = true;
    };
  }

  process([input]) {
    if (this.done) return false;
    if (!input.length) return true; // nothing is joined to it yet
    if (!this.blocks || this.blocks.length !== input.length) {
      this.#hand();
      this.blocks = input.map(() => new Float32Array(this.block));
    }
    input.forEach((channel, c) => this.blocks[c].set(channel, this.filled));
    this.filled += input[0].length;
    if (this.filled + 128 > this.block) this.#hand();
    return true;
  }

  #hand() {
    if (this.filled) this.port.postMessage(this.blocks.map((block) => block.slice(0, this.filled)));
    this.filled = 0;
  }
}

registerProcessor("tap", Tap);
