"use strict";
// The designer works without this file. It lets arrow keys go from seat to seat, renews the page's
// region in place when a seat is chosen, and keeps what was open, and how far the comb was moved.
{
  const seatAt = (hole, deck) => document.getElementById(`seat-${hole}-${deck}`);
  const seats = () => [...document.querySelectorAll("#designer .seat-link")];
  const comb = () => document.querySelector("#designer [data-comb]");

  // Of all seats one can be reached by Tab; arrow keys go on from there.
  const rove = (to) => {
    for (const seat of seats()) seat.setAttribute("tabindex", seat === to ? "0" : "-1");
  };

  const chosen = () => seats().find((seat) => seat.getAttribute("aria-current")) ?? seats()[0];

  const intoView = (seat) => {
    const frame = comb();
    if (!seat || !frame) return;
    const [inner, outer] = [seat.getBoundingClientRect(), frame.getBoundingClientRect()];
    if (inner.left < outer.left || inner.right > outer.right) {
      frame.scrollLeft += inner.left - outer.left - (outer.width - inner.width) / 2;
    }
  };

  const ready = () => {
    rove(chosen());
    intoView(chosen());
    for (const hint of document.querySelectorAll("#designer .keys")) hint.hidden = false;
  };

  const neighbour = (seat, key) => {
    const [hole, deck] = [Number(seat.dataset.hole), seat.dataset.deck];
    switch (key) {
      case "ArrowLeft": return seatAt(hole - 1, deck);
      case "ArrowRight": return seatAt(hole + 1, deck);
      case "ArrowUp": return seatAt(hole, "upper");
      case "ArrowDown": return seatAt(hole, "lower");
      case "Home": return seatAt(1, deck);
      case "End": return seats().filter((each) => each.dataset.deck === deck).at(-1);
      default: return null;
    }
  };

  document.addEventListener("keydown", (event) => {
    const seat = event.target.closest?.(".seat-link");
    if (!seat || event.altKey || event.ctrlKey || event.metaKey) return;
    const next = neighbour(seat, event.key);
    if (!next) return;
    event.preventDefault();
    rove(next);
    next.focus({ preventScroll: true });
    intoView(next);
  });

  document.addEventListener("click", (event) => {
    const seat = event.target.closest?.(".seat-link");
    if (!seat || !window.htmx || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    seat.focus({ preventScroll: true });
    window.htmx.ajax("GET", seat.getAttribute("href"), {
      source: "#designer", target: "#designer", select: "#designer", swap: "outerHTML show:none",
    });
  });

  // What was not accepted comes back with its faults, and is shown like every other answer.
  let open = [];
  let moved = 0;
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (event.detail.xhr.status === 422) Object.assign(event.detail, { shouldSwap: true, isError: false });
    open = [...document.querySelectorAll("#designer details[open]")].map((each) => each.id);
    moved = comb()?.scrollLeft ?? 0;
  });
  document.addEventListener("htmx:afterSettle", () => {
    for (const id of open) document.getElementById(id)?.setAttribute("open", "");
    if (comb()) comb().scrollLeft = moved;
    ready();
    document.querySelector("#designer .faults")?.focus();
  });

  ready();
}
