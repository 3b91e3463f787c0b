/**
 * The desk by keyboard: j and k (or the arrows, once a row has the focus) move between rows, Enter opens
 * one, ? shows the keys. Single keys do nothing while someone types, and can be switched off.
 */

const STORE = "gelside.singleKeys";
const rows = () => /** @type {HTMLElement[]} */ ([...document.querySelectorAll("[data-row]")]);

/** @param {number} step */
function move(step) {
  const all = rows().filter((row) => row.offsetParent !== null);
  const here = all.findIndex((row) => row === document.activeElement);
  const next = all[here < 0 ? (step > 0 ? 0 : all.length - 1) : Math.min(Math.max(here + step, 0), all.length - 1)];
  next?.focus();
  next?.scrollIntoView({ block: "nearest" });
}

/** @param {string} id */
const focusOn = (id) => () => document.getElementById(id)?.focus();

/** @param {string} selector */
const follow = (selector) => () => /** @type {HTMLElement | null} */ (document.querySelector(selector))?.click();

const keys = new Map([
  ["j", { words: "next row", act: () => move(1) }],
  ["k", { words: "row before", act: () => move(-1) }],
  ["i", { words: "to the impression, or the addendum", act: () => (document.getElementById("impression") ?? document.getElementById("text"))?.focus() }],
  ["w", { words: "to the words of probability", act: () => /** @type {HTMLElement | null} */ (document.querySelector("[data-word][tabindex='0']"))?.focus() }],
  ["s", { words: "to the signature", act: focusOn("sign") }],
  ["q", { words: "back to the exams", act: follow("header .name") }],
  ["?", { words: "show these keys", act: () => help().showModal() }],
]);

const singleKeysOn = () => localStorage.getItem(STORE) !== "off";

/** The dialog that lists the keys; made once. */
function help() {
  const known = document.querySelector("dialog.keys");
  if (known) return /** @type {HTMLDialogElement} */ (known);
  const dialog = document.createElement("dialog");
  dialog.className = "keys";
  dialog.setAttribute("aria-labelledby", "keys-title");
  const title = document.createElement("h2");
  title.id = "keys-title";
  title.textContent = "Keys";
  const list = document.createElement("dl");
  const told = [...keys].map(([key, { words }]) => [key, words]);
  for (const [key, words] of [...told, ["↓ ↑", "next row, row before (once a row has the focus)"], ["Enter", "open the row"], ["Tab", "on to the next field or button"]]) {
    const name = document.createElement("dt");
    name.textContent = key;
    const meaning = document.createElement("dd");
    meaning.textContent = words;
    list.append(name, meaning);
  }
  const label = document.createElement("label");
  const box = document.createElement("input");
  box.type = "checkbox";
  box.checked = singleKeysOn();
  box.addEventListener("change", () => localStorage.setItem(STORE, box.checked ? "on" : "off"));
  label.append(box, " single keys work (? always does)");
  const close = document.createElement("button");
  close.textContent = "Close";
  close.addEventListener("click", () => dialog.close());
  dialog.append(title, list, label, close);
  document.body.append(dialog);
  return dialog;
}

/** @param {EventTarget | null} target */
const typing = (target) =>
  target instanceof HTMLElement && (target.matches("input:not([type=checkbox]):not([type=radio]), textarea, select") || target.isContentEditable);

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || typing(event.target) || document.querySelector("dialog[open]")) return;
  const onRow = event.target instanceof HTMLElement && event.target.matches("[data-row]");
  const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  if (onRow && step) move(step);
  else if (keys.has(event.key) && (event.key === "?" || singleKeysOn())) keys.get(event.key)?.act();
  else return;
  event.preventDefault();
});

// A text that was typed and not saved is asked about before the page goes.
const work = document.getElementById("work");
if (work instanceof HTMLFormElement) {
  let changed = false;
  work.addEventListener("input", () => (changed = true));
  work.addEventListener("submit", () => (changed = false));
  window.addEventListener("beforeunload", (event) => {
    if (changed) event.preventDefault();
  });
}

// What was not taken is where the keyboard goes on: the first marked field, else the message.
const marked = document.querySelector("#work .error")?.closest(".field, fieldset")?.querySelector("input, textarea, select");
const first = marked ?? document.getElementById("told");
if (first instanceof HTMLElement) first.focus();

export {};
