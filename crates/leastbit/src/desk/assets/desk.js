// What the page does by itself: it listens for changes, steps values, and
// sends the text while it is being written. Everything else is the server's.
"use strict";

const post = (address, fields) =>
  fetch(address, { method: "POST", body: new URLSearchParams(fields) });

// The server says when pages are behind.
const events = new EventSource("/events");
events.onmessage = () => document.body.dispatchEvent(new Event("desk-changed"));

// Arrow keys step a value through its preferred series; Enter or leaving the
// field takes what was typed.
document.addEventListener("keydown", async (e) => {
  const field = e.target;
  if (!field.dataset || !field.dataset.nudge) return;
  if (e.key === "Enter") {
    e.preventDefault();
    take(field);
  }
  if (e.key !== "ArrowUp" && e.key !== "ArrowDown") return;
  e.preventDefault();
  const step = e.key === "ArrowUp" ? "up" : "down";
  const answer = await post("/nudge", { path: field.dataset.nudge, step });
  if (answer.ok) field.value = await answer.text();
});
document.addEventListener("focusin", (e) => {
  if (e.target.dataset && e.target.dataset.nudge) e.target.dataset.before = e.target.value;
});
document.addEventListener("focusout", (e) => {
  if (e.target.dataset && e.target.dataset.nudge) take(e.target);
});
async function take(field) {
  if (field.value === field.dataset.before) return;
  field.dataset.before = field.value;
  const answer = await post("/nudge", { path: field.dataset.nudge, value: field.value });
  field.setCustomValidity(answer.ok ? "" : await answer.text());
  field.reportValidity();
}

// The editor sends its text shortly after each key.
let waiting;
document.addEventListener("input", (e) => {
  if (e.target.id !== "text") return;
  clearTimeout(waiting);
  waiting = setTimeout(() => post("/draft", { text: e.target.value }), 40);
});

// Ctrl-S saves.
document.addEventListener("keydown", (e) => {
  if ((e.ctrlKey || e.metaKey) && e.key === "s") {
    e.preventDefault();
    document.querySelector("#file button.main:not(:disabled)")?.click();
  }
});

// A line named in the address is shown and marked.
function showLine() {
  const text = document.getElementById("text");
  const wanted = /^#line-(\d+)$/.exec(location.hash);
  if (!text || !wanted) return;
  const lines = text.value.split("\n");
  const n = Math.min(Number(wanted[1]), lines.length);
  const from = lines.slice(0, n - 1).reduce((sum, l) => sum + l.length + 1, 0);
  text.focus();
  text.setSelectionRange(from, from + lines[n - 1].length);
  const height = parseFloat(getComputedStyle(text).lineHeight);
  text.scrollTop = Math.max(0, (n - 6) * height);
}
addEventListener("hashchange", showLine);
addEventListener("DOMContentLoaded", showLine);
