// A take while it is recorded: kept whole in this page, so that a line that breaks leaves no gap in it.
const HEAD = 44, DEEPEST = 32767;

// WAV of one side, 16 bits: the open format that every program reads.
const wav = (blocks, count, rate) => {
  const file = new DataView(new ArrayBuffer(HEAD + 2 * count));
  const words = (at, text) => [...text].forEach((letter, n) => file.setUint8(at + n, letter.charCodeAt(0)));
  words(0, "RIFF"); file.setUint32(4, 36 + 2 * count, true); words(8, "WAVEfmt ");
  file.setUint32(16, 16, true); file.setUint16(20, 1, true); file.setUint16(22, 1, true);
  file.setUint32(24, rate, true); file.setUint32(28, 2 * rate, true); file.setUint16(32, 2, true); file.setUint16(34, 16, true);
  words(36, "data"); file.setUint32(40, 2 * count, true);
  let at = HEAD;
  for (const block of blocks) {
    for (const sample of block) {
      file.setInt16(at, Math.round(Math.max(-1, Math.min(1, sample)) * DEEPEST), true);
      at += 2;
    }
  }
  return new Blob([file.buffer], { type: "audio/wav" });
};

export class Recorder {
  #blocks = []; #count = 0; #rate; #most; broken = false;

  constructor(rate, mostBytes) {
    this.#rate = rate;
    this.#most = Math.floor((mostBytes - HEAD) / 2);
  }

  get seconds() { return this.#count / this.#rate; }
  get full() { return this.#count >= this.#most; }

  take(block) {
    if (this.full) return;
    this.#blocks.push(block);
    this.#count += block.length;
  }

  file() { return wav(this.#blocks, this.#count, this.#rate); }
}
