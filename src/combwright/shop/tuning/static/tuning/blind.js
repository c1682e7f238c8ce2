// Three large buttons in place of three players: one sounds at a time, always from its beginning.
const place = document.getElementById("blind"), failure = document.querySelector("[data-failure]");
const pairs = [...place.querySelectorAll(".blind-sound")].map((each) => [
  each.querySelector("[data-play]"), each.querySelector("audio"),
]);

const silence = () => {
  for (const [button, audio] of pairs) {
    audio.pause();
    button.removeAttribute("data-sounding");
  }
};

for (const [button, audio] of pairs) {
  audio.controls = false;
  audio.preload = "auto";
  button.hidden = false;
  button.addEventListener("click", async () => {
    silence();
    audio.currentTime = 0;
    button.setAttribute("data-sounding", "");
    try {
      await audio.play();
    } catch (error) {
      button.removeAttribute("data-sounding");
      // Another button that is pressed meanwhile ends this one; that is no failure.
      if (error.name === "AbortError") return;
      failure.textContent = place.dataset.failed;
      failure.hidden = false;
    }
  });
  audio.addEventListener("ended", () => button.removeAttribute("data-sounding"));
}
