/**
 * Two points on a still: set by clicks, moved by the arrow keys or typed. The server works out the distance, so that what
 * is shown is to the digit what will be kept. Without this script the page works by its fields and buttons.
 */

const WAIT_MS = 120;
const STEPS = new Map([["ArrowLeft", [-1, 0]], ["ArrowRight", [1, 0]], ["ArrowUp", [0, -1]], ["ArrowDown", [0, 1]]]);

/** @param {string} id */
const at = (id) => /** @type {HTMLElement} */ (document.getElementById(id));
/** @param {string} id */
const field = (id) => /** @type {HTMLInputElement} */ (document.getElementById(id));

const stage = at("stage");
const picture = /** @type {HTMLImageElement} */ (stage.querySelector("img"));
const width = Number(stage.dataset.width);
const height = Number(stage.dataset.height);
const points = [at("point-1"), at("point-2")];
let next = 0;
let waiting = 0;
let asked = 0;

/** The point's column and row; null while something else is typed. @param {number} end */
function place(end) {
  const typed = [field(`x${end + 1}`).value.trim(), field(`y${end + 1}`).value.trim()];
  return typed.every((text) => /^[0-9]{1,5}$/.test(text)) ? typed.map(Number) : null;
}

/** @param {number} end @param {number} x @param {number} y */
function set(end, x, y) {
  field(`x${end + 1}`).value = String(Math.min(Math.max(x, 0), width - 1));
  field(`y${end + 1}`).value = String(Math.min(Math.max(y, 0), height - 1));
  draw();
  askSoon();
}

/** Draw both points and the line where they are. */
function draw() {
  points.forEach((point, end) => {
    const here = place(end);
    point.hidden = here === null;
    if (here === null) return;
    point.style.left = `${((here[0] + 0.5) / width) * 100}%`;
    point.style.top = `${((here[1] + 0.5) / height) * 100}%`;
    point.setAttribute("aria-label", `Point ${end + 1}: column ${here[0]}, row ${here[1]}. The arrow keys move it.`);
    for (const line of [at("line"), at("under")]) {
      line.setAttribute(`x${end + 1}`, String(here[0] + 0.5));
      line.setAttribute(`y${end + 1}`, String(here[1] + 0.5));
    }
  });
}

/** Ask for the distance once the points rest; until it has come nothing old is shown beside them. */
function askSoon() {
  field("shown").value = "";
  at("result").textContent = "…";
  window.clearTimeout(waiting);
  waiting = window.setTimeout(ask, WAIT_MS);
}

async function ask() {
  const mine = ++asked;
  const query = new URLSearchParams(["x1", "y1", "x2", "y2"].map((name) => [name, field(name).value]));
  let told = { text: "The server did not answer. Work it out by the button.", mm: null };
  try {
    const answer = await fetch(`${stage.dataset.distance}?${query}`);
    if (answer.ok) told = await answer.json();
  } catch {
    // The words above say so.
  }
  if (mine !== asked) return;
  at("result").textContent = told.text;
  field("shown").value = told.mm ?? "";
}

stage.addEventListener("click", (event) => {
  if (points.some((point) => point.contains(/** @type {Node} */ (event.target)))) return;
  const box = picture.getBoundingClientRect();
  // A browser draws the picture from whole pixels of the screen on, and tells a click in whole ones.
  const x = Math.floor(((event.clientX - Math.round(box.left)) / box.width) * width);
  const y = Math.floor(((event.clientY - Math.round(box.top)) / box.height) * height);
  set(next, x, y);
  points[next].focus({ preventScroll: true });
  next = 1 - next;
});

points.forEach((point, end) => {
  point.addEventListener("keydown", (event) => {
    const step = STEPS.get(event.key);
    const here = place(end);
    if (!step || !here) return;
    event.preventDefault();
    event.stopPropagation();
    const by = event.shiftKey ? 10 : 1;
    set(end, here[0] + step[0] * by, here[1] + step[1] * by);
    next = 1 - end;
  });
  point.addEventListener("click", () => {
    next = end;
  });
});

for (const name of ["x1", "y1", "x2", "y2"]) {
  field(name).addEventListener("input", () => {
    draw();
    askSoon();
  });
}

for (const button of /** @type {NodeListOf<HTMLButtonElement>} */ (document.querySelectorAll("[data-zoom]"))) {
  button.addEventListener("click", () => {
    const times = Number(button.dataset.zoom);
    picture.width = width * times;
    picture.height = height * times;
    for (const other of document.querySelectorAll("[data-zoom]")) other.setAttribute("aria-pressed", String(other === button));
  });
}

at("zoom").hidden = false;
at("show").hidden = true;
draw();
askSoon();
