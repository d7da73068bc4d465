"use strict";
// Redraws the plan while the form is being changed. Without this script the
// form works by itself: everything here only saves a press of its button.

const form = document.getElementById("form");
const root = document.documentElement;
root.classList.add("scripted");

// A slider beside each number that has a range worth sliding through.
for (const box of form.querySelectorAll("input[data-slide]")) {
  const slider = document.createElement("input");
  slider.type = "range";
  slider.min = box.min;
  slider.max = box.max;
  slider.step = box.dataset.slide;
  slider.value = box.value;
  slider.setAttribute("aria-label", box.labels[0].textContent.trim() + ", slider");
  slider.addEventListener("input", () => { box.value = slider.value; });
  box.addEventListener("input", () => { slider.value = box.value; });
  box.closest(".row").append(slider);
}

// One question is under way at a time. What changes meanwhile is asked next;
// an answer that takes long is given up for it.
const impatientMs = 250;
let under = null;
let again = false;

function question() {
  const data = new FormData(form);
  const line = data.get("route").startsWith("line-");
  if (!line) data.delete("route_name");
  return new URLSearchParams(data).toString();
}

async function redraw() {
  if (under) {
    again = true;
    if (performance.now() - under.since > impatientMs) under.stop.abort();
    return;
  }
  under = { stop: new AbortController(), since: performance.now() };
  const slow = setTimeout(() => root.classList.add("waiting"), impatientMs);
  try {
    const answer = await fetch("/plan?" + question(), { signal: under.stop.signal });
    put(await answer.text());
    performance.measure("redraw", { start: under.since });
    later();
  } catch (failure) {
    if (failure.name !== "AbortError") {
      document.getElementById("summary").textContent = "The server does not answer.";
    }
  } finally {
    clearTimeout(slow);
    root.classList.remove("waiting");
    under = null;
    if (again) {
      again = false;
      redraw();
    }
  }
}

// What takes longer to work out follows once the form has come to rest.
const restMs = 180;
let resting = 0;
let working = new AbortController();

function later() {
  clearTimeout(resting);
  working.abort();
  working = new AbortController();
  const { signal } = working;
  resting = setTimeout(async () => {
    try {
      const answer = await fetch("/further?" + question(), { signal });
      put(await answer.text());
    } catch (failure) {
      if (failure.name !== "AbortError") throw failure;
    }
  }, restMs);
}

// The answer is a list of templates, each for one place of the page.
function put(text) {
  const opened = [...document.querySelectorAll("#plan details[open]")].map(where);
  const old = new Map([...document.querySelectorAll("#plan .later")].map((place) => [place.id, place]));
  const answer = new DOMParser().parseFromString(text, "text/html");
  for (const part of answer.querySelectorAll("template[data-into]")) {
    const into = part.dataset.into;
    if (into === "title") document.title = part.content.textContent;
    else if (into === "address") history.replaceState(null, "", part.content.textContent);
    else replace(document.getElementById(into), part.content);
  }
  for (const place of document.querySelectorAll("#plan .later:empty")) {
    // What takes longer stays as it was, faded, until the new answer is there.
    const before = old.get(place.id);
    if (before && before !== place) {
      place.replaceChildren(...before.childNodes);
      place.classList.add("stale");
    }
  }
  for (const box of document.querySelectorAll("#plan details")) {
    if (opened.includes(where(box))) box.open = true;
  }
  document.querySelector("#drop [name=query]").value = location.search.slice(1);
}

function where(box) {
  const article = box.closest("[aria-labelledby]");
  return (article ? article.getAttribute("aria-labelledby") : "") + "/" + box.querySelector("summary").textContent;
}

function replace(place, content) {
  if (place.contains(document.activeElement) && place.id === "extras") return;
  place.classList.remove("stale");
  place.replaceChildren(document.adoptNode(content));
}

form.addEventListener("input", redraw);
form.addEventListener("change", (event) => {
  // The units change the form itself.
  if (event.target.name === "units") form.submit();
});
form.addEventListener("submit", (event) => {
  event.preventDefault();
  redraw();
});

// A file may be dropped anywhere.
const drop = document.getElementById("drop");
let depth = 0;
addEventListener("dragenter", () => { depth++; root.classList.add("dropping"); });
addEventListener("dragleave", () => { if (--depth <= 0) root.classList.remove("dropping"); });
addEventListener("dragover", (event) => event.preventDefault());
addEventListener("drop", (event) => {
  event.preventDefault();
  depth = 0;
  root.classList.remove("dropping");
  if (event.dataTransfer.files.length > 0) {
    drop.elements.file.files = event.dataTransfer.files;
    drop.submit();
  }
});
drop.elements.file.addEventListener("change", () => { if (drop.elements.file.files.length > 0) drop.submit(); });

if (document.querySelector("#plan .later:empty")) later();
