"use strict";
// Every page works without this file. It asks before what cannot be undone is sent, lets a slow
// double click send a form only once, and reads out how many a narrowed list holds.
{
  const PATIENCE_MS = 8000;
  const dialog = document.getElementById("confirm");
  const agreed = new WeakSet();
  const sent = new WeakMap();

  const ask = (form, button, question) => {
    const yes = dialog.querySelector("[value=yes]");
    dialog.querySelector("#confirm-question").textContent = question;
    if (button) yes.textContent = button.textContent;
    dialog.returnValue = "";
    dialog.addEventListener("close", () => {
      if (dialog.returnValue !== "yes") return;
      agreed.add(form);
      form.requestSubmit(button);
    }, { once: true });
    dialog.showModal();
  };

  const hold = (event) => {
    event.preventDefault();
    event.stopImmediatePropagation();
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    const question = event.submitter?.dataset.confirm ?? form.dataset.confirm;
    if (question && dialog?.showModal && !agreed.delete(form)) {
      hold(event);
      ask(form, event.submitter, question);
    } else if (form.getAttribute("method") === "post") {
      if (Date.now() - (sent.get(form) ?? -Infinity) < PATIENCE_MS) hold(event);
      else sent.set(form, Date.now());
    }
  }, { capture: true });

  // A page taken out of the browser's memory, or a fragment that came back, may be sent again.
  window.addEventListener("pageshow", () => document.querySelectorAll("form").forEach((form) => sent.delete(form)));
  document.addEventListener("htmx:afterRequest", (event) => sent.delete(event.target));

  document.addEventListener("htmx:afterSettle", () => {
    const words = document.querySelector("[data-announce]")?.textContent.trim();
    const region = document.getElementById("announced");
    if (words && region && region.textContent !== words) region.textContent = words;
  });
}
