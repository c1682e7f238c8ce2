"use strict";
// Runs beside the page: hands on what the microphone gives, in blocks of one size.
class Tap extends AudioWorkletProcessor {
  constructor(options) {
    super();
    this.size = options.processorOptions.size;
    this.block = new Float32Array(this.size);
    this.filled = 0;
  }

  process([input]) {
    const side = input[0];
    if (!side) return true;
    for (let from = 0; from < side.length;) {
      const many = Math.min(side.length - from, this.size - this.filled);
      this.block.set(side.subarray(from, from + many), this.filled);
      from += many;
      this.filled += many;
      if (this.filled < this.size) continue;
      this.port.postMessage(this.block, [this.block.buffer]);
      this.block = new Float32Array(this.size);
      this.filled = 0;
    }
    return true;
  }
}
registerProcessor("tap", Tap);
