// The page of another address is fetched and put in place, so that focus, folds and the place on the page are kept.

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

// A picture that came when many were asking is asked for again.
export function askAgain(picture) {
  const tries = Number(picture.dataset.tries ?? 0);
  if (tries >= 4) return;
  picture.dataset.tries = tries + 1;
  setTimeout(() => { picture.src = picture.getAttribute("src"); }, 2000 * (tries + 1));
}

const PARTS = ["which", "large", "take"];

// Return the pieces of a page, or throw an error whose message is the server's one sentence.
export async function fetchPiece(address, signal) {
  const ask = () => fetch(address, { signal, headers: { Accept: "text/html" } });
  let answer = await ask();
  for (let tries = 0; answer.status === 503 && tries < 4; tries += 1) {
    await pause(1000 * (Number(answer.headers.get("Retry-After")) || 1));
    signal?.throwIfAborted();
    answer = await ask();
  }
  const text = await answer.text();
  const pieces = new DOMParser().parseFromString(text, "text/html");
  const page = pieces.getElementById("job") || pieces.querySelector("[data-piece]");
  if (!page) {
    throw new Error((pieces.querySelector(".problem") ?? pieces.body).textContent.trim());
  }
  pieces.address = answer.url;
  return pieces;
}

// Put pieces in the places of their names.
export function show(pieces) {
  for (const piece of pieces.querySelectorAll("[data-piece]")) {
    const place = document.getElementById(piece.dataset.piece);
    if (place && place.innerHTML !== piece.innerHTML) place.replaceChildren(...piece.childNodes);
  }
}

export async function visit(address, { push, signal }) {
  const pieces = await fetchPiece(address, signal);
  const place = pathTo(document.activeElement);
  const folds = openFolds();
  for (const id of PARTS) {
    const now = document.getElementById(id);
    now.replaceChildren(...pieces.getElementById(id).childNodes);
  }
  const form = document.getElementById("job");
  const fresh = pieces.getElementById("job");
  for (const old of form.querySelectorAll(":scope > input[type=hidden]")) old.remove();
  form.prepend(...fresh.querySelectorAll(":scope > input[type=hidden]"));
  form.dataset.marker = fresh.dataset.marker;
  const checked = document.getElementById("checked");
  if (checked && checked.dataset.marker !== form.dataset.marker) checked.remove();
  for (const id of ["measure", "check"]) document.getElementById(id).action = pieces.getElementById(id).getAttribute("action");
  document.getElementById("names").replaceWith(pieces.getElementById("names"));
  document.getElementById("said").textContent = pieces.getElementById("said").textContent.trim();
  document.title = pieces.title;
  for (const id of folds) document.querySelector(id)?.setAttribute("open", "");
  if (place) document.querySelector(place)?.focus({ preventScroll: true });
  if (push && pieces.address !== location.href) history.pushState(null, "", pieces.address);
  else if (pieces.address !== location.href) history.replaceState(null, "", pieces.address);
}

// A selector that finds the same field or button on the fresh page.
function pathTo(element) {
  if (!element || element === document.body) return "";
  if (element.id) return "#" + CSS.escape(element.id);
  const name = element.name ? `[name="${CSS.escape(element.name)}"]` : "";
  const value = element.matches("button, [type=radio], [type=checkbox]") ? `[value="${CSS.escape(element.value)}"]` : "";
  if (name) return element.localName + name + value;
  if (element.dataset.for) return `[data-for="${element.dataset.for}"]`;
  return element.localName === "summary" ? (element.parentElement.id ? `#${element.parentElement.id} > summary` : ".ask summary") : "";
}

function openFolds() {
  const found = [];
  for (const id of ["screen", "measuring", "checking", "further"]) {
    if (document.querySelector(`#${id}[open]`)) found.push(`#${id}`);
  }
  if (document.querySelector(".ask details[open]")) found.push(".ask details");
  return found;
}
