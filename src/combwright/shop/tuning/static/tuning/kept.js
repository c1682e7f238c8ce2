// Readings to be kept lie in this browser first and are sent one by one and in their order, so that a
// lost connection or a page opened anew loses none. The shop takes one that comes twice as one.
const AGAIN_MS = 4000, LONGEST_MS = 15000;

export class Kept extends EventTarget {
  #name; #token; #busy = false; #timer = 0; #stopped = false;

  constructor(name, token) {
    super();
    this.#name = name;
    this.#token = token;
    window.addEventListener("online", () => this.send());
  }

  get waiting() {
    try { return JSON.parse(localStorage.getItem(this.#name)) ?? []; } catch { return []; }
  }

  #write(rows) { localStorage.setItem(this.#name, JSON.stringify(rows)); }
  #locked(act) { return navigator.locks ? navigator.locks.request(this.#name, act) : Promise.resolve(act()); }
  #tell(name, detail = {}) { this.dispatchEvent(new CustomEvent(name, { detail })); }

  async add(address, fields, words) {
    await this.#locked(() => this.#write([...this.waiting, { address, fields, words }]));
    this.#tell("changed");
    this.send();
  }

  async #drop(key) {
    await this.#locked(() => this.#write(this.waiting.filter((each) => each.fields.key !== key)));
    this.#tell("changed");
  }

  dropFirst() { const [first] = this.waiting; this.#stopped = false; return first ? this.#drop(first.fields.key).then(() => this.send()) : null; }
  again() { this.#stopped = false; this.send(); }

  #later() {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.send(), AGAIN_MS);
    this.#tell("changed", { later: true });
  }

  async #sendOne(each) {
    let answer;
    try {
      answer = await fetch(each.address, {
        method: "POST", redirect: "manual", credentials: "same-origin", signal: AbortSignal.timeout(LONGEST_MS),
        headers: { Accept: "application/json", "X-CSRFToken": this.#token }, body: new URLSearchParams(each.fields),
      });
    } catch { this.#later(); return false; }
    if (answer.status >= 500 || answer.status === 429) { this.#later(); return false; }
    const said = await answer.json().catch(() => ({}));
    if (!answer.ok) {
      this.#stopped = true;
      this.#tell("refused", { each, away: answer.type === "opaqueredirect" || answer.status === 403, words: said.words ?? answer.statusText });
      return false;
    }
    await this.#drop(each.fields.key);
    this.#tell("kept", { each, said });
    return true;
  }

  async send() {
    if (this.#busy || this.#stopped) return;
    this.#busy = true;
    clearTimeout(this.#timer);
    try {
      for (let rows = this.waiting; rows.length; rows = this.waiting) if (!await this.#sendOne(rows[0])) break;
    } finally { this.#busy = false; }
  }
}
