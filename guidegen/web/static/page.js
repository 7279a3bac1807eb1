// What a script adds to the page, which works without: the letter follows the sliders, and the page is not left.
import { askAgain, fetchPiece, show, visit } from "./visits.js";
import { keepTrue, startScale } from "./scale.js";

const form = document.getElementById("job");
const said = document.getElementById("said");
let working = null;
let settling = 0;
let saying = 0;

document.documentElement.classList.add("scripted");

function say(text) {
  said.textContent = text;
}

function query(button) {
  const data = new FormData(form, button ?? undefined);
  const pairs = [...data].filter(([key, value]) => key !== "replace" && typeof value === "string");
  return new URLSearchParams(pairs).toString();
}

// A marker whose widths are moved is no longer the known one.
function rename() {
  const label = form.elements.label;
  if (label.dataset.known === "1") {
    label.value = label.dataset.own;
    label.dataset.known = "0";
    for (const key of ["name", "found", "down_sd", "hair_sd", "samples", "measured"]) {
      form.querySelector(`input[type=hidden][name=${key}]`)?.remove();
    }
    for (const marker of form.querySelectorAll(".marker[aria-current]")) marker.removeAttribute("aria-current");
  }
}

async function live() {
  working?.abort();
  working = new AbortController();
  const asked = query();
  try {
    const pieces = await fetchPiece("live?" + asked, working.signal);
    show(pieces);
    keepTrue();
    const told = pieces.querySelector("[data-piece=say]");
    const slider = form.querySelector("#x-slider");
    if (told.dataset.low) {
      slider.min = told.dataset.low;
      slider.max = told.dataset.high;
      slider.value = told.dataset.now;
      form.elements.x.placeholder = told.dataset.right;
      slider.setAttribute("aria-valuetext", told.textContent);
    }
    clearTimeout(saying);
    if (document.activeElement !== slider) saying = setTimeout(() => say(told.textContent), 500);
  } catch (error) {
    if (error.name !== "AbortError") say(error.message);
  }
}

// When the hand is lifted the whole page follows: pictures, pages, address.
function settle(delay = 350) {
  clearTimeout(settling);
  settling = setTimeout(() => go("./?" + query()), delay);
}

async function go(address, { push = true, to = "" } = {}) {
  clearTimeout(settling);
  working?.abort();
  working = new AbortController();
  const slow = setTimeout(() => say(said.dataset.working), 400);
  const take = document.getElementById("take");
  take.setAttribute("aria-busy", "true");
  try {
    await visit(address, { push, signal: working.signal });
    keepTrue();
    if (said.textContent === said.dataset.working) say("");
    const title = document.getElementById(to);
    if (title) {
      title.focus({ preventScroll: true });
      title.closest(".result").scrollIntoView({ block: "start" });
    }
  } catch (error) {
    if (error.name !== "AbortError") say(error.message);
  } finally {
    clearTimeout(slow);
    if (take.isConnected) take.setAttribute("aria-busy", "false");
  }
}

form.addEventListener("input", (event) => {
  const field = event.target;
  if (field.form !== form) return;  // a picture that is sent on its own stands among the other fields
  if (field.dataset.for) form.elements[field.dataset.for].value = field.value;
  const slider = form.querySelector(`[data-for="${field.name}"]`);
  if (slider) slider.value = field.value;
  const name = field.dataset.for ?? field.name;
  if (["down", "hair", "angle", "tip"].includes(name)) rename();
  if (["down", "hair", "angle", "tip", "x"].includes(name)) live();
});

form.addEventListener("change", (event) => {
  if (event.target.name === "replace" || event.target.form !== form) return;
  settle(event.target.type === "range" ? 350 : 30);
});

form.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (button?.formMethod === "post") return;
  event.preventDefault();
  const to = button?.name === "need" ? "result-title" : "";
  go("./?" + query(button), { to });
});

// What was sent rather than asked for (a marker kept or measured, letters checked) has an address, too.
if (!new URL(".", location.href).pathname.endsWith(location.pathname)) history.replaceState(null, "", form.dataset.link);

document.addEventListener("error", (event) => event.target.localName === "img" && askAgain(event.target), true);
addEventListener("popstate", () => go(location.href, { push: false }));

startScale(say);
keepTrue();
