// A WAV file of 24-bit whole numbers, written piece by piece while the recording runs.
// 24 bits hold all that a sound input gives, and a clipped top stays a flat top that the instrument can see.
// The form of the file: RIFF with a "fmt " chunk of kind 1 (PCM), little-endian, channels interleaved.

export const BYTES = 3;
const TOP = 2 ** 23 - 1;
const PIECE = 1024 * 1024; // pieces this long are handed to the browser, which may keep them on the disk

/** A block as 24-bit readings, with its peak, and whether all channels are one and the same. */
export function pcm24(block, channels) {
  const frames = block[0].length;
  const bytes = new Uint8Array(frames * channels * BYTES);
  let peak = 0;
  let same = true;
  let at = 0;
  for (let i = 0; i < frames; i += 1) {
    for (let c = 0; c < channels; c += 1) {
      const value = (block[c] ?? block[0])[i];
      if (value !== block[0][i]) same = false;
      const size = Math.abs(value);
      if (size > peak) peak = size;
      const whole = Math.max(-TOP - 1, Math.min(TOP, Math.round(value * (TOP + 1))));
      bytes[at] = whole & 255;
      bytes[at + 1] = (whole >> 8) & 255;
      bytes[at + 2] = (whole >> 16) & 255;
      at += BYTES;
    }
  }
  return { bytes, peak, same };
}

/** The head of a file that holds so many bytes of readings. */
export function wavHead(sampleRate, channels, bytes) {
  const head = new DataView(new ArrayBuffer(44));
  const word = (at, text) => [...text].forEach((c, i) => head.setUint8(at + i, c.charCodeAt(0)));
  const frame = channels * BYTES;
  word(0, "RIFF");
  head.setUint32(4, 36 + bytes + (bytes % 2), true);
  word(8, "WAVEfmt ");
  head.setUint32(16, 16, true);
  head.setUint16(20, 1, true);
  head.setUint16(22, channels, true);
  head.setUint32(24, sampleRate, true);
  head.setUint32(28, sampleRate * frame, true);
  head.setUint16(32, frame, true);
  head.setUint16(34, 8 * BYTES, true);
  word(36, "data");
  head.setUint32(40, bytes, true);
  return head.buffer;
}

export class WavWriter {
  constructor(sampleRate, channels) {
    this.sampleRate = sampleRate;
    this.channels = channels;
    this.frames = 0;
    this.peak = 0;
    this.same = true; // whether all channels have been one and the same so far
    this.pieces = [];
    this.fresh = [];
    this.freshBytes = 0;
  }

  get seconds() {
    return this.frames / this.sampleRate;
  }

  get bytes() {
    return this.frames * this.channels * BYTES;
  }

  /** Append one block: an array of Float32Array, one for each channel, from -1 to 1. Returns the block's peak. */
  add(block) {
    const frames = block[0].length;
    const { bytes: out, peak, same } = pcm24(block, this.channels);
    if (!same) this.same = false;
    this.frames += frames;
    if (peak > this.peak) this.peak = peak;
    this.fresh.push(out);
    this.freshBytes += out.length;
    if (this.freshBytes >= PIECE) this.#lay();
    return peak;
  }

  /** The whole file. Browsers give many a single sensor on two channels: then one of them is kept. */
  async finish() {
    this.#lay();
    const pieces = this.pieces;
    if (this.channels > 1 && this.same) {
      this.pieces = [];
      for (const piece of pieces) this.pieces.push(firstOf(this.channels, await piece.arrayBuffer()));
      this.channels = 1;
    }
    const even = new Uint8Array(this.bytes % 2); // a chunk of odd length is followed by one byte more
    return new Blob([wavHead(this.sampleRate, this.channels, this.bytes), ...this.pieces, even], { type: "audio/wav" });
  }

  #lay() {
    this.pieces.push(new Blob(this.fresh));
    this.fresh = [];
    this.freshBytes = 0;
  }
}

function firstOf(channels, interleaved) {
  const all = new Uint8Array(interleaved);
  const one = new Uint8Array(all.length / channels);
  for (let at = 0, from = 0; at < one.length; from += channels * BYTES)
    for (let byte = 0; byte < BYTES; byte += 1) one[at++] = all[from + byte];
  return one;
}
