// Makes forms kinder; everything works without it. A form that is on its way is not sent again by
// impatience (the server would do nothing twice anyway), and progress is shown as it comes.
"use strict";

for (const form of document.querySelectorAll("form")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent === "yes") {
      event.preventDefault();
      return;
    }
    if (form.method === "post") {
      form.dataset.sent = "yes";
      for (const button of form.querySelectorAll("button[type=submit]")) {
        button.setAttribute("aria-disabled", "true");
      }
    }
  });
}

window.addEventListener("pageshow", (event) => {
  if (event.persisted) {
    for (const form of document.querySelectorAll("form")) {
      delete form.dataset.sent;
      for (const button of form.querySelectorAll("button[aria-disabled]")) button.removeAttribute("aria-disabled");
    }
  }
});

// Rows of a list that are empty at first: the next one shows when it is needed.
for (const list of document.querySelectorAll("[data-rows]")) {
  const rows = Array.from(list.children).filter((row) => row.matches(".find-row"));
  const isFilled = (row) => Array.from(row.querySelectorAll("input, select")).some(
    (field) => field.type !== "checkbox" && (field.tagName === "SELECT" ? field.selectedIndex > 0 : field.value !== "")
  );
  const show = () => {
    let last = -1;
    rows.forEach((row, at) => { if (isFilled(row)) last = at; });
    rows.forEach((row, at) => { row.hidden = at > last + 1; });
  };
  list.addEventListener("input", show);
  show();
}

// What a wood holds: only its own spots are offered once the wood is chosen.
const place = document.querySelector("select[data-place]");
if (place) {
  const narrow = () => {
    for (const group of document.querySelectorAll("[data-of-place]")) {
      group.hidden = place.value !== "" && group.dataset.ofPlace !== place.value;
    }
  };
  place.addEventListener("change", narrow);
  narrow();
}

const progress = document.querySelector("[data-events]");
if (progress && "EventSource" in window) {
  const source = new EventSource(progress.dataset.events);
  const say = (name, words) => {
    for (const place of document.querySelectorAll(`[data-say="${name}"]`)) place.textContent = words;
  };
  source.onmessage = (event) => {
    const told = JSON.parse(event.data);
    const bar = document.querySelector("progress");
    if (bar) bar.value = told.limit ? Math.min(told.seconds / told.limit, 1) : told.share || 0;
    say("words", told.words || "working");
    if (told.limit) say("seconds", `${Math.round(told.seconds)} s of at most ${Math.round(told.limit)} s`);
    say("steps", told.steps || "begun");
    if (told.state !== "running") {
      source.close();
      window.location.replace(progress.dataset.after);
    }
  };
}
