// The stopwatch of a dip. Without this file the page says clock times.
// Markup: [data-dip] with data-seconds and data-longest, and within it
//   [data-dip-time], [data-dip-say], [data-dip-signs] li, [data-dip-keys],
//   [data-dip-start], [data-dip-stop], [data-dip-voice]
// The seconds go into the form's field "seconds" when somebody presses stop.
"use strict";
(() => {
  const box = document.querySelector("[data-dip]");
  if (!box) return;
  const part = (name) => box.querySelector("[data-dip-" + name + "]");
  const meant = Number(box.dataset.seconds), longest = Number(box.dataset.longest);
  const signs = [...part("signs").querySelectorAll("li")].map((li) => li.textContent.trim());
  const voice = part("voice");
  const speaks = "speechSynthesis" in window;
  part("keys").hidden = false;
  part("clock").hidden = true;
  if (!speaks) voice.closest("label").hidden = true;

  const tell = (words, loud) => {
    part("say").textContent = words;
    box.classList.toggle("out", !!loud);
    if (speaks && voice.checked) {
      speechSynthesis.cancel();
      const u = new SpeechSynthesisUtterance(words);
      u.lang = "en";
      speechSynthesis.speak(u);
    }
  };
  let begun = 0, timer = 0, said = -1;
  const seconds = () => Math.max(0, (performance.now() - begun) / 1000);
  const tick = () => {
    const s = Math.floor(seconds());
    part("time").textContent = s + " s";
    // Something new to look for every five seconds, the two gravest in turn more often.
    const at = s >= longest ? "longest" : s >= meant ? "meant" : Math.floor(s / 5);
    if (at === said) return;
    said = at;
    if (at === "longest") tell("Out now. " + longest + " seconds is the longest.", true);
    else if (at === "meant") tell("Time. Net them out into clean, matched water.", true);
    else if (at > 0) tell("Anybody " + signs[(at - 1) % signs.length] + "? Then out at once.");
  };
  part("start").addEventListener("click", () => {
    begun = performance.now();
    said = -1;
    clearInterval(timer);
    timer = setInterval(tick, 200);
    tell("In. Watch them, not the clock.");
    tick();
  });
  part("stop").addEventListener("click", () => {
    if (!timer) return;
    clearInterval(timer);
    timer = 0;
    const s = Math.round(seconds());
    part("time").textContent = s + " s";
    tell("Out after " + s + " seconds. Into clean, matched water, air on.");
    const field = document.querySelector("[name=seconds]");
    if (field) {
      field.value = s;
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }
  });
})();
