"use strict";
// Plays plain tones for buttons that carry their frequencies; nothing is loaded from anywhere.
// Without this file those buttons stay unseen.
{
  const HARMONICS = [1, 0.5, 0.33, 0.2, 0.12, 0.07];
  const ATTACK_S = 0.04;
  const LENGTH_S = 1.4;
  const LOUDNESS = 0.25;
  let sound = null;
  let last = null;

  const wave = () => {
    const imaginary = new Float32Array([0, ...HARMONICS]);
    return sound.createPeriodicWave(new Float32Array(imaginary.length), imaginary);
  };

  const hush = () => {
    if (!last) return;
    last.gain.cancelScheduledValues(sound.currentTime);
    last.gain.setTargetAtTime(0, sound.currentTime, 0.03);
    last = null;
  };

  const play = (tones) => {
    sound ??= new AudioContext();
    sound.resume();
    hush();
    const start = sound.currentTime + 0.01;
    const all = sound.createGain();
    all.gain.setValueAtTime(0, start);
    all.gain.linearRampToValueAtTime(LOUDNESS / Math.sqrt(tones.length), start + ATTACK_S);
    all.gain.setTargetAtTime(0, start + LENGTH_S - 0.4, 0.12);
    all.connect(sound.destination);
    const shape = wave();
    for (const hz of tones) {
      const tone = sound.createOscillator();
      tone.setPeriodicWave(shape);
      tone.frequency.value = hz;
      tone.connect(all);
      tone.start(start);
      tone.stop(start + LENGTH_S + 0.4);
    }
    last = all;
  };

  const show = () => {
    for (const button of document.querySelectorAll("[data-hz][hidden]")) button.hidden = false;
  };

  if (window.AudioContext) {
    document.addEventListener("click", (event) => {
      const button = event.target.closest?.("[data-hz]");
      const tones = (button?.dataset.hz ?? "").split(" ").map(Number).filter((hz) => hz > 0);
      if (tones.length) play(tones);
    });
    document.addEventListener("htmx:afterSettle", show);
    show();
  }
}
