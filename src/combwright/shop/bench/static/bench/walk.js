"use strict";
// The walk works without this file: each tick is then a form of its own. With it a tick is kept in
// this browser first and sent after it, one by one and in their order, so that a lost connection or
// a page opened anew loses none. The shop takes one that comes twice as one.
{
  const walk = document.getElementById("walk");
  const KEY = `combwright-walk-${walk.dataset.person}`;
  const AGAIN_MS = 4000, LONGEST_MS = 15000;
  const part = (name) => walk.querySelector(`[data-${name}]`);
  const queueLine = part("queue"), stopBox = part("stop");
  let busy = false, timer = null, stopped = false, leaving = false;

  const read = () => {
    try { return JSON.parse(localStorage.getItem(KEY)) ?? []; } catch { return []; }
  };
  const write = (queue) => localStorage.setItem(KEY, JSON.stringify(queue));
  // Two pages of one browser share the queue; what one adds must not be lost by the other's sending.
  const locked = (act) => navigator.locks ? navigator.locks.request(KEY, act) : Promise.resolve(act());

  const button = (id) => walk.querySelector(`[data-tick="${CSS.escape(String(id))}"]`);

  const shown = (tick, picked) => {
    if ((tick.getAttribute("aria-pressed") === "true") === picked) return;
    tick.setAttribute("aria-pressed", String(picked));
    tick.form.action = picked ? tick.dataset.unpick : tick.dataset.pick;
    const missing = tick.closest(".row").querySelector("form[data-online]");
    if (missing) missing.hidden = picked;
    const done = part("done"), bar = document.getElementById("far");
    done.textContent = String(Number(done.textContent) + (picked ? 1 : -1));
    bar.value = Number(done.textContent);
    part("ready").querySelector("button").classList.toggle("next", done.textContent === part("total").textContent);
  };

  const tell = () => {
    const queue = read();
    const waiting = new Set(queue.map((each) => String(each.id)));
    walk.querySelectorAll("[data-tick]").forEach((tick) => tick.toggleAttribute("data-unsent", waiting.has(tick.dataset.tick)));
    queueLine.hidden = queue.length === 0;
    queueLine.textContent = queue.length ? `${queue.length} ${timer ? walk.dataset.waiting : walk.dataset.sending}` : "";
  };

  const stop = (why, canDrop) => {
    stopped = true;
    stopBox.hidden = false;
    part("why").textContent = why;
    part("drop").hidden = !canDrop;
    stopBox.scrollIntoView({ block: "nearest" });
  };

  const later = () => {
    clearTimeout(timer);
    timer = setTimeout(() => { timer = null; send(); }, AGAIN_MS);
  };

  const post = (each) => {
    const patience = new AbortController();
    const bell = setTimeout(() => patience.abort(), LONGEST_MS);
    const token = walk.querySelector("[name=csrfmiddlewaretoken]").value;
    return fetch(each.url, {
      method: "POST", redirect: "manual", credentials: "same-origin", signal: patience.signal,
      headers: { Accept: "application/json", "X-CSRFToken": token },
    }).finally(() => clearTimeout(bell));
  };

  // Says whether to go on with the next one.
  const sendOne = async (each) => {
    let answer;
    try { answer = await post(each); } catch { later(); return false; }
    // The page that comes next may have been written before this tick was: let that one send it again.
    if (leaving) return false;
    if (answer.status >= 500 || answer.status === 429) { later(); return false; }
    if (answer.type === "opaqueredirect") { stop(walk.dataset.away, false); return false; }
    if (!answer.ok) {
      const said = await answer.json().catch(() => ({}));
      stop(`${walk.dataset.refused} ${each.words}. ${said.words ?? answer.statusText}`, true);
      return false;
    }
    await locked(() => write(read().filter((one) => one.n !== each.n)));
    return true;
  };

  const send = async () => {
    if (busy || stopped || leaving) return;
    busy = true;
    clearTimeout(timer);
    timer = null;
    try {
      for (let queue = read(); queue.length; queue = read()) {
        tell();
        if (!await sendOne(queue[0])) break;
      }
    } finally { busy = false; tell(); }
  };

  const keep = async (tick) => {
    const picked = tick.getAttribute("aria-pressed") !== "true";
    const tray = tick.closest(".row").dataset.tray;
    shown(tick, picked);
    if (picked) part("said").textContent = `${walk.dataset.took} ${tray}`;
    const each = {
      n: `${Date.now()}-${Math.random()}`, id: tick.dataset.tick, picked,
      url: picked ? tick.dataset.pick : tick.dataset.unpick, words: tick.textContent.trim().replace(/\s+/g, " "),
    };
    await locked(() => write([...read(), each]));
    tell();
    send();
  };

  // What a label says of a bin: its code, its mark, or the address of the shop's door.
  const binOf = (text) => {
    const door = text.match(/\/papers\/s\/b\/([^?#]+)/i), mark = text.match(/^b:(.+)$/i);
    const code = (door ? decodeURIComponent(door[1]) : text).trim();
    const named = [...walk.querySelectorAll("[data-bin]")].map((stop) => [stop, stop.dataset.bin]);
    const is = (wanted) => named.find(([, bin]) => bin === wanted)?.[0];
    return is(code) ?? (mark ? is(mark[1].trim()) : undefined);
  };

  walk.addEventListener("click", (event) => {
    const tick = event.target.closest("[data-tick]");
    if (tick) { event.preventDefault(); keep(tick); }
    const link = event.target.closest("a[data-online]");
    if (link && read().length) { event.preventDefault(); first(); }
  });

  const first = () => {
    queueLine.hidden = false;
    queueLine.textContent = walk.dataset.first;
    if (stopped) stopBox.scrollIntoView({ block: "nearest" });
    send();
  };

  // Before the page's own guard, which asks and then counts a form as sent.
  window.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.matches("[data-scan]")) {
      const field = form.querySelector("[name=text]");
      const next = binOf(field.value)?.querySelector('[data-tick][aria-pressed="false"]');
      if (next) {
        event.preventDefault();
        event.stopImmediatePropagation();
        field.value = "";
        walk.querySelectorAll(".latest").forEach((row) => row.classList.remove("latest"));
        const row = next.closest(".row");
        row.classList.add("latest");
        row.scrollIntoView({ block: "center" });
        keep(next);
        return;
      }
    }
    if (form.matches("[data-online], [data-scan]") && read().length) {
      event.preventDefault();
      event.stopImmediatePropagation();
      first();
    }
  }, { capture: true });

  part("again").addEventListener("click", () => { stopped = false; stopBox.hidden = true; send(); });
  part("drop").addEventListener("click", async () => {
    const [gone] = read();
    await locked(() => write(read().slice(1)));
    const tick = gone && button(gone.id);
    if (tick) shown(tick, !gone.picked);
    stopped = false;
    stopBox.hidden = true;
    tell();
    send();
  });
  window.addEventListener("online", send);
  window.addEventListener("beforeunload", () => {
    leaving = true;
    setTimeout(() => { leaving = false; send(); }, LONGEST_MS);
  });
  window.addEventListener("pageshow", () => {
    leaving = false;
    for (const each of read()) {
      const tick = button(each.id);
      if (tick) shown(tick, each.picked);
    }
    tell();
    send();
  });
}
