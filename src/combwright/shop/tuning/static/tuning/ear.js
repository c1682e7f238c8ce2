// The microphone and the line to the shop: sound goes out in blocks, what the shop makes of it comes
// back as "glance". A line that breaks is opened anew, a microphone that is taken away or falls asleep
// is asked for again; each time "state" says so. Blocks are told to the page as well, so that a take
// being recorded needs no line at all.
const SIZE = 512;
const FIRST_MS = 500, LONGEST_MS = 8000;
const QUIET_MS = 2000;
const MOST_WAITING = 4 * 48000 * 2;

export class Ear extends EventTarget {
  #line; #aims; #tap; #context = null; #stream = null; #socket = null; #microphone = null; #focus = null;
  #on = false; #wait = FIRST_MS; #timer = 0; #lock = null; #heardAt = 0; #watch = 0; #fails = 0; #device = "";

  constructor({ line, aims, tap }) {
    super();
    this.#line = line;
    this.#aims = aims;
    this.#tap = tap;
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.#awake(); });
    window.addEventListener("online", () => { if (this.#on && !this.#socket) this.#dial(); });
    navigator.mediaDevices?.addEventListener?.("devicechange", () => this.#tell("devices"));
  }

  get on() { return this.#on; }
  get rate() { return this.#context?.sampleRate ?? 0; }

  #tell(name, more = {}) { this.dispatchEvent(new CustomEvent("state", { detail: { name, ...more } })); }

  // To be called from a click: browsers start sound only then.
  async open(microphone, device) {
    if (this.#on) return;
    this.#microphone = microphone;
    this.#device = device;
    if (!window.isSecureContext || !navigator.mediaDevices) { this.#tell("insecure"); return; }
    this.#on = true;
    this.#tell("asking");
    try {
      await this.#capture();
    } catch (error) {
      await this.close();
      this.#tell({ NotAllowedError: "refused", NotFoundError: "none", OverconstrainedError: "none" }[error.name] ?? "busy", { why: error.message });
      return;
    }
    this.#watch = setInterval(() => this.#look(), 500);
    this.#dial();
    this.#stayAwake();
  }

  async close() {
    this.#on = false;
    clearTimeout(this.#timer);
    clearInterval(this.#watch);
    const socket = this.#socket;
    this.#socket = null;
    socket?.close();
    this.#release();
    await this.#lock?.release().catch(() => {});
    this.#lock = null;
    this.#tell("off");
  }

  focus(number) {
    this.#focus = number;
    if (this.#socket?.readyState === WebSocket.OPEN) this.#socket.send(JSON.stringify({ focus: number }));
  }

  async #capture() {
    const wanted = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
    if (this.#device) wanted.deviceId = { exact: this.#device };
    const stream = await navigator.mediaDevices.getUserMedia({ audio: wanted });
    if (!this.#on) { stream.getTracks().forEach((track) => track.stop()); return; }
    this.#stream = stream;
    const [track] = stream.getAudioTracks();
    track.addEventListener("ended", () => { if (this.#stream === stream) this.#taken(); });
    track.addEventListener("mute", () => { if (this.#stream === stream) this.#tell("muted"); });
    track.addEventListener("unmute", () => { if (this.#stream === stream) this.#tell("opening"); });
    const context = new AudioContext({ latencyHint: "interactive" });
    this.#context = context;
    context.addEventListener("statechange", () => { if (this.#context === context) this.#turned(context.state); });
    await context.audioWorklet.addModule(this.#tap);
    const tap = new AudioWorkletNode(context, "tap", {
      numberOfInputs: 1, numberOfOutputs: 0, channelCount: 1, channelCountMode: "explicit", processorOptions: { size: SIZE },
    });
    tap.port.addEventListener("message", (event) => { if (this.#context === context) this.#block(event.data); });
    tap.port.start();
    context.createMediaStreamSource(stream).connect(tap);
    if (context.state !== "running") await context.resume();
    this.#heardAt = performance.now();
  }

  // "suspended" by a sleeping device, "interrupted" by a call that came in.
  #turned(state) {
    if (state !== "running" && state !== "closed") this.#tell("asleep");
    else if (state === "running" && this.#heardAt) this.#tell(this.#socket?.readyState === WebSocket.OPEN ? "on" : "opening");
  }

  #release() {
    this.#heardAt = 0;
    this.#stream?.getTracks().forEach((track) => track.stop());
    this.#stream = null;
    this.#context?.close().catch(() => {});
    this.#context = null;
  }

  #block(block) {
    this.#heardAt = performance.now();
    this.dispatchEvent(new CustomEvent("block", { detail: block }));
    const socket = this.#socket;
    // A line that lags by more than two seconds is no live line: what waits is let go of.
    if (socket?.readyState === WebSocket.OPEN && socket.bufferedAmount < MOST_WAITING) socket.send(block.buffer.slice(0));
  }

  #dial() {
    clearTimeout(this.#timer);
    if (!this.#on || !this.#context) return;
    const address = new URL(this.#line, location.href);
    address.protocol = address.protocol === "https:" ? "wss:" : "ws:";
    const socket = new WebSocket(address);
    this.#socket = socket;
    this.#tell("opening");
    socket.addEventListener("open", () => {
      if (this.#socket !== socket) return;
      this.#wait = FIRST_MS;
      this.#fails = 0;
      socket.send(JSON.stringify({ rate: this.rate, aims: this.#aims, microphone: this.#microphone, focus: this.#focus }));
      this.#tell("on");
    });
    socket.addEventListener("message", (event) => {
      if (this.#socket === socket) this.dispatchEvent(new CustomEvent("glance", { detail: JSON.parse(event.data) }));
    });
    socket.addEventListener("close", (event) => { if (this.#socket === socket) this.#lost(event); });
  }

  async #lost(event) {
    this.#socket = null;
    if (!this.#on) return;
    this.#fails += 1;
    this.#tell("lost", { why: event.reason });
    if (this.#fails > 1 && await this.#shutOut()) { this.#tell("away"); return; }
    if (!this.#on || this.#socket) return;
    this.#timer = setTimeout(() => this.#dial(), this.#wait);
    this.#wait = Math.min(2 * this.#wait, LONGEST_MS);
  }

  // Whoever is logged out is sent to the door, also by this page itself.
  async #shutOut() {
    try {
      const answer = await fetch(location.href, { method: "HEAD", redirect: "manual", credentials: "same-origin" });
      return answer.type === "opaqueredirect" || answer.status === 403;
    } catch { return false; }
  }

  #taken() {
    this.#release();
    this.#tell("taken");
    this.#again();
  }

  // Asked once more at once: a headset that was pulled out leaves the built-in one. If that is refused
  // too, the button is there.
  async #again() {
    this.#device = "";
    try {
      await this.#capture();
      const socket = this.#socket;
      this.#socket = null;
      socket?.close();
      this.#dial();
    } catch {
      await this.close();
      this.#tell("taken");
    }
  }

  #awake() {
    if (!this.#on) return;
    this.#stayAwake();
    if (this.#context && this.#context.state !== "running") this.#context.resume().catch(() => {});
    if (this.#stream?.getAudioTracks()[0]?.readyState === "ended") this.#taken();
    if (!this.#socket) this.#dial();
  }

  // A busy page gets its blocks late but whole; only a sound system that stands still has gaps.
  #look() {
    if (!this.#on || !this.#context || this.#context.state === "running" || performance.now() - this.#heardAt < QUIET_MS) return;
    this.#tell("asleep");
    this.#context.resume().catch(() => {});
  }

  async #stayAwake() {
    try { this.#lock = await navigator.wakeLock?.request("screen"); } catch { /* It may then sleep. */ }
  }
}
