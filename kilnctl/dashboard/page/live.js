// What both pages do: ask for the state each second, say it, switch off by F9 or the button, call by sound.
"use strict";
const ASK_MS = 1000, LATE_MS = 6000;
let asked = Date.now(), said = "", called = false, sounded = 0, sound = null, wasGone = false;
const by = (id) => document.getElementById(id);

async function off() {
  by("off-said").textContent = "switching off ...";
  try {
    const answer = await fetch("/off", { method: "POST", headers: { "X-Kilnctl-Off": "1" } });
    const told = await answer.json();
    by("off-said").textContent = told.accepted ? told.why || "heat is off" : "NOT CONFIRMED: " + told.why;
  } catch (error) {
    by("off-said").textContent = "NOT CONFIRMED: this page's server does not answer. Use the isolator.";
  }
}

async function ask() {
  try {
    const answer = await fetch("/state", { cache: "no-store", signal: AbortSignal.timeout(3000) });
    const told = await answer.json();
    asked = Date.now();
    tell(told);
  } catch (error) { /* told below when it lasts */ }
  const late = Date.now() - asked > LATE_MS;
  document.body.classList.toggle("-unheard", late);
  if (late) {
    document.title = "NO DATA kilnctl";
    speak("This page has lost its server. The heat may be on: look at the oven.");
  }
  setTimeout(ask, ASK_MS);
}

function tell(told) {
  document.title = told.title;
  speak(told.say);
  document.body.classList.toggle("-gone", Boolean(told.gone));
  if (by("last-words")) by("last-words").textContent = told.gone;
  if (wasGone && !told.gone) location.reload();
  wasGone = Boolean(told.gone);
  call(told.calls);
  if (window.show) window.show(told);
}

// Read aloud by a screen reader, so only when it has changed.
function speak(words) {
  const steady = words.replace(/\d+ (s|min|h)\b|\d\d:\d\d|-?\d+ °[CF]/g, "");
  if (steady !== said) by("said").textContent = words;
  said = steady;
}

// A browser plays nothing before somebody has pressed or touched something.
function wake() { if (!sound && window.AudioContext) sound = new AudioContext(); }
function call(calls) {
  if (calls && sound && (!called || Date.now() - sounded > 20000)) {
    const tone = sound.createOscillator();
    tone.frequency.value = 880;
    tone.connect(sound.destination);
    tone.start();
    tone.stop(sound.currentTime + 0.4);
    sounded = Date.now();
  }
  called = calls;
}

addEventListener("pointerdown", wake);
addEventListener("keydown", (event) => {
  wake();
  if (event.key !== "F9" || event.repeat) return;
  event.preventDefault();
  off();
}, true);
addEventListener("DOMContentLoaded", () => {
  for (const button of document.querySelectorAll(".off")) button.addEventListener("click", off);
  ask();
});
