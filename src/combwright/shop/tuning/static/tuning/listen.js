// The page that listens: shows what is heard, keeps what settled, records takes.
import { Ear } from "./ear.js";
import { Kept } from "./kept.js";
import { Recorder } from "./recorder.js";

const panel = document.getElementById("listen");
const told = JSON.parse(document.getElementById("told").textContent);
const part = (name, root = panel) => root.querySelector(`[data-${name}]`);
const words = panel.dataset;
const ZERO = 320, A_CENT = 10, MOST_CENTS = 30, WIDE = 1.96;
const SOFTEST = -70, BAR = 600;
//: Glances, 50 ms apart, for which a note must have been settled to be kept by itself.
const STOOD = 6;
//: A note further from every reed is none of these, unless one is in focus.
const FAR_CENTS = 80;
const SVG = "http://www.w3.org/2000/svg";

const remembered = (name) => { try { return localStorage.getItem(`combwright-${name}`) ?? ""; } catch { return ""; } };
const remember = (name, value) => { try { localStorage.setItem(`combwright-${name}`, value); } catch { /* Then it is asked again. */ } };
const put = (element, text) => { if (element && element.textContent !== text) element.textContent = text; };
const signed = (cents, digits = 1) => {
  const text = Math.abs(cents).toFixed(digits);
  return Number(text) === 0 ? text : `${cents < 0 ? "−" : "+"}${text}`;
};

const ear = new Ear({ line: told.line, tap: new URL("./tap.js", import.meta.url), aims: told.aims.map((aim) => aim.hz) });
const reeds = [...document.querySelectorAll("[data-aim]")];
const token = document.querySelector("[name=csrfmiddlewaretoken]")?.value ?? "";
const kept = panel.dataset.keep ? new Kept(`combwright-heard-${panel.dataset.person}`, token) : null;
let focus = null, best = null, offered = null, sounding = false, stood = 0, lastKept = -1, recorder = null, unsent = null;

// The ruler's ticks are drawn once; a page that aims at nothing has none.
for (let cents = -MOST_CENTS; part("ticks") && cents <= MOST_CENTS; cents += 5) {
  const x = ZERO + A_CENT * cents, long = cents % 10 === 0;
  const tick = document.createElementNS(SVG, "path");
  tick.setAttribute("d", `M${x} 58V${long ? 66 : 62}`);
  tick.setAttribute("class", "ruler-edge");
  part("ticks").append(tick);
  if (!long) continue;
  const label = document.createElementNS(SVG, "text");
  label.setAttribute("x", x);
  label.setAttribute("y", 84);
  label.textContent = cents ? signed(cents, 0) : "0";
  part("ticks").append(label);
}
if (part("tolerance")) {
  const zone = part("tolerance");
  zone.setAttribute("x", ZERO - A_CENT * told.tolerance);
  zone.setAttribute("width", 2 * A_CENT * told.tolerance);
}

const along = (cents) => ZERO + A_CENT * Math.max(-MOST_CENTS - 0.6, Math.min(MOST_CENTS + 0.6, cents));

// Of reeds that sound alike: the one in focus, else the one that comes after the last one kept; of bins
// those of which plates are still to be heard.
const meant = (glance) => {
  if (focus !== null || glance.alike.length < 2) return glance.aim;
  const open = glance.alike.filter((each) => reeds[each].dataset.left !== "0");
  const choice = open.length ? open : glance.alike;
  return choice.find((each) => reeds[each].dataset.left !== undefined || each > lastKept) ?? choice[0];
};

const showBead = (glance) => {
  const bead = part("bead");
  bead.setAttribute("visibility", "visible");
  bead.setAttribute("transform", `translate(${along(glance.cents)} 0)`);
  bead.classList.toggle("settled", glance.settled);
  const half = Math.max(10, WIDE * A_CENT * glance.sd);
  part("width").setAttribute("x", -half);
  part("width").setAttribute("width", 2 * half);
};

const showBefore = (index) => {
  const before = part("before"), last = reeds[index] && part("last", reeds[index])?.dataset.centsLast;
  before.setAttribute("visibility", last === undefined || last === "" ? "hidden" : "visible");
  if (last) before.setAttribute("transform", `translate(${along(Number(last))} 0)`);
};

const showNote = (glance) => {
  const index = meant(glance), aim = told.aims[index];
  const others = glance.alike.filter((each) => each !== index).map((each) => told.aims[each].label);
  put(part("seat"), aim.label);
  put(part("note"), others.length ? `${aim.note} (${words.or} ${others.join(", ")}: ${words.tap})` : aim.note);
  put(part("cents-now"), signed(glance.cents));
  const off = Math.abs(glance.cents) <= told.tolerance ? words.within : glance.cents > 0 ? words.high : words.low;
  put(part("cents-words"), off);
  showBead(glance);
  showBefore(index);
  reeds.forEach((reed, n) => reed.toggleAttribute("data-sounding", n === index));
};

const showWords = (glance) => {
  const said = [glance.settled ? words.settled : words.unsettled];
  said.push(`${words.give} ${(WIDE * glance.sd).toFixed(2)}`);
  if (glance.settled) said.push(`${words.steady} ${glance.spread.toFixed(2)}`);
  if (glance.unsure) said.push(words.unsure);
  if (glance.breath !== "good") said.push(words[glance.breath]);
  put(part("words"), said.join(" · "));
};

const showPitch = (glance) => {
  put(part("seat"), `${glance.hz.toFixed(3)} Hz`);
  put(part("words"), `${glance.settled ? words.settled : words.unsettled} · ${words.give} ${(WIDE * glance.sd).toFixed(3)} ${words.cents}`);
};

const showLevel = (glance) => {
  const share = (level) => BAR * Math.max(0, Math.min(1, (level - SOFTEST) / -SOFTEST));
  part("level").setAttribute("width", share(glance.level));
  put(part("decibels"), `${glance.level.toFixed(0).replace("-", "−")} dB`);
  if (glance.band) {
    part("band").setAttribute("x", share(glance.band[0]));
    part("band").setAttribute("width", share(glance.band[1]) - share(glance.band[0]));
  }
};

const isOurs = (glance) => glance.aim !== undefined && (focus !== null || Math.abs(glance.cents) < FAR_CENTS);

const showOther = (glance) => {
  put(part("seat"), words.other);
  put(part("note"), `${glance.hz.toFixed(1)} Hz`);
  put(part("cents-now"), "–");
  put(part("cents-words"), "");
  part("bead").setAttribute("visibility", "hidden");
  part("before").setAttribute("visibility", "hidden");
  reeds.forEach((reed) => reed.removeAttribute("data-sounding"));
};

const keepable = (glance) => glance && isOurs(glance) && glance.settled && glance.breath === "good";

const heard = (glance) => {
  panel.dataset.at = glance.at;
  showLevel(glance);
  if (glance.hz === undefined) { ended(); return; }
  const index = isOurs(glance) ? meant(glance) : null;
  if (best && best.index !== index) ended();
  if (!sounding) offer(null);
  sounding = true;
  if (index !== null) showNote(glance); else if (glance.aim === undefined) showPitch(glance); else showOther(glance);
  if (glance.aim !== undefined) showWords(glance);
  panel.toggleAttribute("data-settled-now", glance.settled);
  if (!keepable(glance)) return;
  best = { ...glance, index };
  stood += 1;
  offer(best);
};

// A reading may be kept until the next note sounds: whoever plays has no hand free while it does.
const offer = (reading) => {
  offered = reading;
  const button = part("keep");
  if (button) button.disabled = reading === null;
};

// What stays on the page after a note is its last reading; only the bead is no longer live.
const ended = () => {
  if (best && stood >= STOOD && part("by-itself")?.checked && !recorder) keep(best);
  best = null;
  stood = 0;
  sounding = false;
  panel.removeAttribute("data-settled-now");
  reeds.forEach((reed) => reed.removeAttribute("data-sounding"));
};

const keep = (glance) => {
  const aim = told.aims[glance.index];
  const fields = {
    key: crypto.randomUUID(), place: aim.place, cents: glance.cents, sd: glance.sd, spread: glance.spread, level: glance.level,
    temperature: part("temperature").value.trim().replace(",", "."), microphone: part("microphone").value,
  };
  for (const name of ["condition", "jig"]) if (part(name)) fields[name] = part(name).value;
  if (part("step", document)) fields.step = part("step", document).value;
  if (glance.unsure) fields.unsure = "on";
  lastKept = glance.index;
  best = null;
  offer(null);
  stood = -Infinity;  // one reading a note
  showLast(glance.index, glance.cents);
  row(fields, aim, glance.cents);
  kept.add(panel.dataset.keep, fields, `${aim.label} ${signed(glance.cents, 2)}`);
};

const showLast = (index, cents) => {
  const last = part("last", reeds[index]);
  last.dataset.centsLast = cents;
  put(last, signed(cents, 2));
};

const row = (fields, aim, cents) => {
  const made = document.getElementById("lately-row").content.firstElementChild.cloneNode(true);
  made.dataset.key = fields.key;
  put(part("label", made), `${aim.label} ${aim.note}`);
  put(part("cents", made), `${signed(cents, 2)} ± ${(WIDE * fields.sd).toFixed(2)}`);
  put(part("when", made), new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" }));
  document.getElementById("lately").prepend(made);
};

const queue = () => {
  const many = kept.waiting.length, line = part("queue");
  line.hidden = many === 0;
  put(line, many ? `${many} ${words.waiting}` : "");
};

if (kept) {
  kept.addEventListener("changed", queue);
  kept.addEventListener("kept", ({ detail: { each, said } }) => {
    const made = document.querySelector(`[data-key="${CSS.escape(each.fields.key)}"]`);
    const form = made?.querySelector("form");
    if (!form) return;
    if (form.dataset.action) form.action = form.dataset.action.replace("/0/", `/${said.id}/`);
    const button = form.querySelector("button");
    if (button.dataset.id !== undefined) button.value = said.id;
    button.disabled = false;
    put(part("state", made), said.words);
    put(part("done"), `${each.words}: ${said.words}`);
    const reed = reeds[told.aims.findIndex((aim) => aim.place === each.fields.place)];
    if (reed && said.left !== undefined && reed.dataset.left !== undefined) {
      reed.dataset.left = said.left;
      put(part("left-now", reed), String(said.left));
    }
    if (part("queue").hidden && said.address) location.assign(said.address);
  });
  kept.addEventListener("refused", ({ detail }) => {
    part("refusal").hidden = false;
    put(part("refusal-words"), detail.away ? words.gone : `${words.refusedKeep} ${detail.each.words}. ${detail.words}`);
    part("drop").hidden = detail.away;
  });
  part("again").addEventListener("click", () => { part("refusal").hidden = true; kept.again(); });
  part("drop").addEventListener("click", () => { part("refusal").hidden = true; kept.dropFirst(); });
  part("keep").addEventListener("click", () => { if (offered) keep(offered); });
  queue();
  kept.send();
}

// States of the microphone and the line.
ear.addEventListener("state", ({ detail: { name, why } }) => {
  if (name === "devices") { devices(); return; }
  panel.dataset.now = name;
  put(part("state"), words[name] + (name === "busy" && why ? ` (${why})` : ""));
  panel.classList.toggle("wrong", ["insecure", "none", "refused", "busy", "lost", "away", "taken", "muted", "asleep"].includes(name));
  part("start").hidden = ear.on;
  part("stop").hidden = !ear.on;
  part("face").hidden = !ear.on && part("face").hidden;
  for (const each of ["keep", "take"]) if (part(each)) part(each).hidden = !ear.rate || recorder !== null;
  if (recorder && ["taken", "asleep", "off"].includes(name)) recorder.broken = true;
  if (name === "off" && recorder) takeEnd();
  if (name === "on") { part("face").hidden = false; devices(); }
  if (["off", "lost", "taken"].includes(name)) ended();
});
ear.addEventListener("glance", ({ detail }) => { heard(detail); panel.dispatchEvent(new CustomEvent("heard", { detail })); });
ear.addEventListener("block", ({ detail }) => {
  panel.dispatchEvent(new CustomEvent("block", { detail }));
  if (!recorder) return;
  recorder.take(detail);
  const box = document.getElementById("taking");
  put(part("seconds", box), `${recorder.seconds.toFixed(0)} s`);
  if (recorder.full) takeEnd();
});

// Focus: one reed only.
reeds.forEach((reed, n) => reed.addEventListener("click", () => {
  focus = focus === n ? null : n;
  reeds.forEach((each, m) => each.setAttribute("aria-pressed", String(m === focus)));
  ear.focus(focus);
}));

// Microphones: which one, as the workshop calls it; and where it is plugged in.
const clock = () => {
  const one = told.microphones.find((each) => String(each.id) === part("microphone").value);
  const sd = one ? one.sd : told.clock;
  put(part("clock"), `${one?.known ? words.clockKnown : words.clockUnknown} ±${(WIDE * sd).toFixed(2)} ${words.cents}.`);
};
const devices = async () => {
  const there = (await navigator.mediaDevices?.enumerateDevices?.() ?? []).filter((each) => each.kind === "audioinput" && each.deviceId && each.label);
  part("devices").hidden = there.length < 2;
  const chosen = part("device").value || remembered("device");
  part("device").replaceChildren(...there.map((each) => new Option(each.label, each.deviceId, false, each.deviceId === chosen)));
};
const only = part("microphone").dataset.only;
part("microphone").value = only ?? ([...part("microphone").options].some((each) => each.value === remembered("microphone")) ? remembered("microphone") : "");
part("microphone").addEventListener("change", async () => { remember("microphone", part("microphone").value); clock(); if (ear.on) { await ear.close(); start(); } });
part("device").addEventListener("change", async () => { remember("device", part("device").value); if (ear.on) { await ear.close(); start(); } });
for (const name of ["condition", "temperature", "jig"]) {
  const field = part(name);
  if (!field) continue;
  if (remembered(name)) field.value = remembered(name);
  field.addEventListener("change", () => remember(name, field.value));
}
const byItself = part("by-itself");
if (byItself) {
  byItself.checked = remembered("by-itself") === "yes";
  byItself.addEventListener("change", () => remember("by-itself", byItself.checked ? "yes" : ""));
}
clock();

const start = () => ear.open(Number(part("microphone").value) || null, part("device").value || remembered("device"));
part("start").addEventListener("click", start);
part("stop").addEventListener("click", () => ear.close());

// A take: recorded here, then sent as a file would be.
const box = document.getElementById("taking");
const saying = (text, wrong = false) => { box.hidden = false; box.classList.toggle("error", wrong); put(part("said", box), text); };
const takeEnd = async () => {
  const done = recorder;
  recorder = null;
  part("take-end").hidden = true;
  for (const each of ["keep", "take"]) part(each).hidden = !ear.rate;
  unsent = { file: done.file(), key: crypto.randomUUID() };
  if (!done.broken) { await sendTake(); return; }
  saying(box.dataset.gap, true);
  offerTake();
};
const offerTake = () => {
  const save = part("save", box);
  URL.revokeObjectURL(save.href);
  save.href = URL.createObjectURL(unsent.file);
  save.hidden = false;
  part("resend", box).hidden = false;
};
const sendTake = async () => {
  if (!unsent) return;
  saying(box.dataset.sending);
  part("resend", box).hidden = true;
  const form = new FormData();
  for (const name of ["condition", "temperature", "microphone"]) form.set(name, part(name).value);
  form.set("key", unsent.key);
  form.set("file", unsent.file, "take.wav");
  try {
    const answer = await fetch(panel.dataset.takeIn, { method: "POST", redirect: "manual", credentials: "same-origin", headers: { Accept: "application/json", "X-CSRFToken": token }, body: form });
    if (answer.type === "opaqueredirect" || answer.status === 403) throw new Error(words.gone);
    const said = await answer.json().catch(() => ({}));
    if (answer.ok) { unsent = null; location.assign(said.address); return; }
    saying(said.words ?? answer.statusText, true);
  } catch (error) {
    saying(error instanceof TypeError ? box.dataset.lost : error.message, true);
  }
  offerTake();
};
if (kept && panel.dataset.takeIn) {
  part("take").addEventListener("click", () => {
    recorder = new Recorder(ear.rate, told.most);
    saying(box.dataset.recording);
    part("take-end").hidden = false;
    for (const each of ["keep", "take"]) part(each).hidden = true;
  });
  part("take-end").addEventListener("click", takeEnd);
  part("resend", box).addEventListener("click", sendTake);
  window.addEventListener("beforeunload", (event) => { if (recorder || unsent) event.preventDefault(); });
}

// A few seconds of some reeds at once go into the form's own field for a file.
const short = document.querySelector("[data-short]");
if (short) {
  let some = null;
  const SECONDS = 2.5, field = short.closest("form").elements.file;
  ear.addEventListener("state", () => { short.disabled = !ear.rate || some !== null; });
  ear.addEventListener("block", ({ detail }) => {
    if (!some) return;
    some.take(detail);
    if (!some.full) return;
    const given = new DataTransfer();
    given.items.add(new File([some.file()], "together.wav", { type: "audio/wav" }));
    some = null;
    field.files = given.files;
    short.closest("form").elements.microphone.value = part("microphone").value;
    short.closest("form").requestSubmit();
  });
  short.hidden = false;
  short.disabled = true;
  short.addEventListener("click", () => { some = new Recorder(ear.rate, 44 + 2 * Math.round(SECONDS * ear.rate)); short.disabled = true; });
}

// Calibration and the level of a breath, on a microphone's own page.
const lend = document.getElementById("lend");
if (lend) {
  panel.addEventListener("heard", ({ detail }) => {
    if (detail.hz === undefined || !detail.settled) return;
    const tone = document.querySelector("[name=tone]").form;
    tone.elements.heard.value = detail.raw;
    tone.elements.sd.value = detail.rawsd;
    put(part("heard-now", lend), `${detail.raw.toFixed(4)} Hz ± ${(WIDE * detail.rawsd).toFixed(4)} ${words.cents}`);
    part("set-tone", lend).disabled = false;
  });
  let levels = [];
  panel.addEventListener("heard", ({ detail }) => {
    if (detail.hz === undefined) return;
    levels = [...levels, detail.level].slice(-60);
    if (levels.length < 20) return;
    const sorted = [...levels].sort((a, b) => a - b), middle = sorted[sorted.length >> 1];
    part("my-breath", lend).disabled = false;
    part("my-breath", lend).dataset.middle = middle;
  });
  part("my-breath", lend).addEventListener("click", (event) => {
    const middle = Number(event.target.dataset.middle), form = document.querySelector("[name=low]").form;
    form.elements.low.value = (middle - 4).toFixed(0);
    form.elements.high.value = (middle + 4).toFixed(0);
  });
}
