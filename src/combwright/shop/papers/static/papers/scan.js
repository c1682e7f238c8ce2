"use strict";
// The page works without this file for hand scanners and fingers. It adds the camera: the browser's
// own reader of codes where it has one, otherwise grey pictures that the shop looks through, one at
// a time. A picture taken from a file goes the same way, so that a phone without a lent camera scans too.
{
  const EVERY_MS = 250;
  const FRAME = 960;
  const KEY = "combwright-camera";
  const part = document.getElementById("camera");
  const field = document.querySelector("form input[name=text]");
  const token = document.querySelector("form.form [name=csrfmiddlewaretoken]").value;
  const find = (mark) => part.querySelector(`[data-${mark}]`);
  const [words, start, stop, torch, picture] = ["words", "start", "stop", "torch", "picture"].map(find);
  const video = part.querySelector("video");
  const canvas = document.createElement("canvas");
  const most = Number(part.dataset.most);
  let stream = null;
  let timer = 0;
  let busy = false;
  let heard = "";
  let detector = null;

  const remember = (on) => {
    try {
      if (on) sessionStorage.setItem(KEY, "on");
      else sessionStorage.removeItem(KEY);
    } catch { /* A browser that keeps nothing asks for one press more. */ }
  };
  const remembered = () => {
    try { return sessionStorage.getItem(KEY) === "on"; } catch { return false; }
  };
  const say = (text) => { if (words.textContent !== text) words.textContent = text; };

  // What a scanner types belongs in the field, wherever the focus went.
  document.addEventListener("keydown", (event) => {
    const typed = event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey;
    if (typed && event.key !== " " && !event.target.closest("input, textarea, select")) field.focus();
  });
  window.addEventListener("pageshow", (event) => {
    field.value = "";
    if (event.persisted) field.focus({ preventScroll: true });
  });

  const post = async (address, body, kind) => {
    const headers = { "X-CSRFToken": token, "Content-Type": kind };
    const answer = await fetch(address, { method: "POST", body, headers, credentials: "same-origin" });
    // Whoever was logged out meanwhile is led to the door.
    if (answer.redirected) location.reload();
    if (answer.status === 204 || answer.redirected) return null;
    if (!answer.ok) throw new Error(String(answer.status));
    return answer.json();
  };
  const grey = (source, width, height, largest) => {
    const shrink = Math.min(1, largest / Math.max(width, height));
    canvas.width = Math.max(1, Math.round(width * shrink));
    canvas.height = Math.max(1, Math.round(height * shrink));
    const sheet = canvas.getContext("2d", { willReadFrequently: true });
    sheet.drawImage(source, 0, 0, canvas.width, canvas.height);
    const { data } = sheet.getImageData(0, 0, canvas.width, canvas.height);
    const pixels = new Uint8Array(canvas.width * canvas.height);
    for (let n = 0, at = 0; n < pixels.length; n++, at += 4) {
      pixels[n] = (data[at] * 77 + data[at + 1] * 150 + data[at + 2] * 29) >> 8;
    }
    return pixels;
  };
  const askShop = (source, width, height, largest) => {
    const pixels = grey(source, width, height, Math.min(largest, most));
    const query = new URLSearchParams({ width: canvas.width, height: canvas.height });
    return post(`${part.dataset.frame}?${query}`, pixels, "application/octet-stream");
  };
  const askBrowser = async () => {
    const [code] = await detector.detect(video);
    if (!code?.rawValue) return null;
    return post(part.dataset.said, new URLSearchParams({ text: code.rawValue }).toString(), "application/x-www-form-urlencoded");
  };

  const told = (answer) => {
    if (!answer) return false;
    if (answer.address) {
      navigator.vibrate?.(80);
      say(`${part.dataset.seen} ${answer.words ?? ""}`);
      remember(stream !== null);
      off();
      location.assign(answer.address);
    } else if (answer.words !== heard) {
      heard = answer.words;
      navigator.vibrate?.([40, 60, 40]);
      say(answer.words);
    }
    return true;
  };
  const look = async () => {
    if (busy || !stream || !video.videoWidth) return;
    busy = true;
    try {
      const answer = detector ? await askBrowser() : await askShop(video, video.videoWidth, video.videoHeight, FRAME);
      if (stream) told(answer);
    } catch (error) {
      // A browser may have a reader that cannot read: then the shop does.
      if (detector && !(error instanceof TypeError && !navigator.onLine) && !/^\d+$/.test(error.message)) detector = null;
      else say(part.dataset.lost);
    } finally {
      busy = false;
    }
  };

  const off = () => {
    clearInterval(timer);
    stream?.getTracks().forEach((track) => track.stop());
    stream = null;
    video.srcObject = null;
    video.hidden = stop.hidden = torch.hidden = true;
    torch.setAttribute("aria-pressed", "false");
    start.hidden = false;
  };
  const REASONS = { NotAllowedError: "refused", SecurityError: "refused", NotFoundError: "none", OverconstrainedError: "none" };
  const ownReader = async () => {
    try {
      const kinds = await window.BarcodeDetector?.getSupportedFormats();
      return kinds?.includes("qr_code") ? new window.BarcodeDetector({ formats: ["qr_code"] }) : null;
    } catch { return null; }
  };
  const on = async () => {
    start.hidden = true;
    heard = "";
    try {
      detector = await ownReader();
      stream = await navigator.mediaDevices.getUserMedia({ audio: false, video: { facingMode: "environment", width: { ideal: 1280 }, height: { ideal: 960 } } });
      video.srcObject = stream;
      await video.play();
    } catch (error) {
      remember(false);
      off();
      say(part.dataset[REASONS[error.name] ?? "busy"]);
      return;
    }
    const [track] = stream.getVideoTracks();
    track.addEventListener("ended", () => { off(); say(part.dataset.stopped); });
    torch.hidden = !track.getCapabilities?.().torch;
    video.hidden = stop.hidden = false;
    say(part.dataset.looking);
    timer = setInterval(look, EVERY_MS);
  };

  start.addEventListener("click", on);
  stop.addEventListener("click", () => { remember(false); off(); say(part.dataset.stopped); start.focus(); });
  torch.addEventListener("click", async () => {
    const lit = torch.getAttribute("aria-pressed") !== "true";
    try {
      await stream.getVideoTracks()[0].applyConstraints({ advanced: [{ torch: lit }] });
      torch.setAttribute("aria-pressed", String(lit));
    } catch { torch.hidden = true; }
  });
  let resumes = false;
  document.addEventListener("visibilitychange", () => {
    if (document.hidden && stream) { resumes = true; off(); }
    else if (!document.hidden && resumes) { resumes = false; on(); }
  });
  window.addEventListener("pagehide", off);

  picture.addEventListener("change", async () => {
    const [file] = picture.files;
    if (!file) return;
    try {
      const image = await createImageBitmap(file);
      if (!told(await askShop(image, image.width, image.height, most))) say(part.dataset.unread);
    } catch (error) {
      say(/^\d+$/.test(error.message) || error instanceof TypeError ? part.dataset.lost : part.dataset.unread);
    }
    picture.value = "";
  });

  part.hidden = false;
  if (!navigator.mediaDevices?.getUserMedia) {
    start.hidden = true;
    say(window.isSecureContext ? part.dataset.none : part.dataset.insecure);
  } else if (remembered()) {
    on();
  }
}
