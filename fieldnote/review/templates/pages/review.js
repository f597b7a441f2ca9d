// Keys on the entries. Without this script everything still works by mouse, touch and Tab.
"use strict";

function neighbour(entry, forward) {
  const all = [...document.querySelectorAll(".entry")];
  return all[all.indexOf(entry) + (forward ? 1 : -1)];
}

function open(entry, kind) {
  const details = entry.querySelector(`details.${kind}`);
  if (!details) return false;
  details.open = true;
  details.querySelector("input:not([type=hidden])").focus();
  return true;
}

function play(entry) {
  const sound = entry.querySelector("audio");
  if (!sound) return false;
  for (const other of document.querySelectorAll("audio")) if (other !== sound) other.pause();
  if (!sound.paused) sound.pause();
  else sound.play().catch((error) => { if (error.name !== "AbortError") throw error; });
  return true;
}

function accept(entry) {
  const button = entry.querySelector("button.accept");
  if (button) button.click();
  return Boolean(button);
}

const deeds = {
  ArrowDown: (entry) => neighbour(entry, true)?.focus() ?? true,
  ArrowUp: (entry) => neighbour(entry, false)?.focus() ?? true,
  p: play,
  a: accept,
  c: (entry) => open(entry, "correct"),
  w: (entry) => open(entry, "withdraw"),
};

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const entry = event.target;
  // Single letters act only while an entry itself has the focus (WCAG 2.1.4), never while typing.
  if (entry.classList?.contains("entry")) {
    const deed = deeds[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (deed && deed(entry)) event.preventDefault();
  } else if (event.key === "Escape") {
    const details = entry.closest?.(".deeds details");
    if (details) {
      details.open = false;
      details.closest(".entry").focus();
    }
  }
});

const wanted = location.hash.startsWith("#e") && document.getElementById(location.hash.slice(1));
if (wanted) wanted.focus();
