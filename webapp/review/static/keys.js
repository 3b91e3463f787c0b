/**
 * The desk by keyboard: j and k (or the arrows, once a row has the focus) move between rows, Enter opens one, / goes to
 * the search, ? shows the keys of the page. Single keys do nothing while someone types, and can be switched off on
 * that sheet; the button "Keys" opens it without a key. Every act is a link, a field or a button of the page.
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

/** @param {string} selector */
const place = (selector) => /** @type {HTMLElement | null} */ (document.querySelector(selector));

/** Back to the list as it was left, with its words, filters and page. */
function toTheList() {
  const from = document.referrer && new URL(document.referrer);
  const link = /** @type {HTMLAnchorElement | null} */ (place("header .name"));
  if (from && link && from.origin === location.origin && from.pathname === link.pathname) location.assign(from.href);
  else link?.click();
}

/**
 * What a key does, and the place of the page that it needs: without the place the key does nothing.
 * @typedef {{words: string, needs: string, act: (place: HTMLElement) => void}} Key
 */

/** @type {(place: HTMLElement) => void} */
const focusOn = (found) => found.focus();
/** @type {(place: HTMLElement) => void} */
const follow = (found) => found.click();

/** @type {Map<string, Key>} */
const keys = new Map([
  ["j", { words: "next row", needs: "[data-row]", act: () => move(1) }],
  ["k", { words: "row before", needs: "[data-row]", act: () => move(-1) }],
  ["/", { words: "to the search", needs: "[role=search] input:not([type=hidden])", act: focusOn }],
  ["]", { words: "next page, or the day after", needs: "a[rel=next]", act: follow }],
  ["[", { words: "page before, or the day before", needs: "a[rel=prev]", act: follow }],
  ["n", { words: "open the next exam that waits", needs: "a[data-next]", act: follow }],
  ["i", { words: "to the impression, or the addendum", needs: "#impression, #text", act: focusOn }],
  ["w", { words: "to the words of probability", needs: "[data-word][tabindex='0']", act: focusOn }],
  ["t", { words: "to who was told and given what", needs: "a[data-tell]", act: follow }],
  ["p", { words: "to the procedures", needs: "a[data-procedures]", act: follow }],
  ["r", { words: "to the second read", needs: "a[data-second]", act: follow }],
  ["s", { words: "to the signature", needs: "#sign", act: focusOn }],
  ["b", { words: "to the day board", needs: "header a[data-board]", act: follow }],
  ["q", { words: "back to the exams", needs: "header .name", act: toTheList }],
  ["?", { words: "show these keys", needs: "body", act: () => help().showModal() }],
]);
const ALWAYS = /** @type {const} */ ([
  ["↓ ↑", "next row, row before, once a row has the focus"],
  ["Enter", "open the row"],
  ["Tab", "on to the next link, field or button"],
  ["Esc", "close this sheet"],
]);

const singleKeysOn = () => localStorage.getItem(STORE) !== "off";

/** @template {keyof HTMLElementTagNameMap} T @param {T} name @param {string} text */
function made(name, text) {
  const element = document.createElement(name);
  element.textContent = text;
  return element;
}

/** @param {string} title @param {(readonly [string, string])[]} rows */
function part(title, rows) {
  const list = document.createElement("dl");
  for (const [key, words] of rows) {
    const name = document.createElement("dt");
    for (const one of key.split(" ")) name.append(made("kbd", one), " ");
    list.append(name, made("dd", words));
  }
  return [made("h3", title), list];
}

/** The sheet of the keys; made once, for what the page holds. */
function help() {
  const known = place("dialog.keys");
  if (known) return /** @type {HTMLDialogElement} */ (known);
  const dialog = document.createElement("dialog");
  dialog.className = "keys";
  dialog.setAttribute("aria-labelledby", "keys-title");
  const title = made("h2", "Keys");
  title.id = "keys-title";
  const told = [...keys].map(([key, { words, needs }]) => ({ row: /** @type {const} */ ([key, words]), here: !!place(needs) }));
  const here = told.filter((one) => one.here).map((one) => one.row);
  const elsewhere = told.filter((one) => !one.here).map((one) => one.row);
  const columns = document.createElement("div");
  columns.className = "columns";
  const left = document.createElement("div");
  left.append(...part("On this page", here));
  const right = document.createElement("div");
  if (elsewhere.length) right.append(...part("On other pages", elsewhere));
  right.append(...part("Always", [...ALWAYS]));
  columns.append(left, right);
  const label = document.createElement("label");
  const box = document.createElement("input");
  box.type = "checkbox";
  box.checked = singleKeysOn();
  box.addEventListener("change", () => localStorage.setItem(STORE, box.checked ? "on" : "off"));
  label.append(box, " single keys work in this browser");
  const off = made("p", "Switched off, the button “Keys” at the top opens this sheet. Keys do nothing while you type.");
  off.className = "facts";
  const close = made("button", "Close");
  close.addEventListener("click", () => dialog.close());
  dialog.append(title, columns, label, off, close);
  document.body.append(dialog);
  return dialog;
}

const opener = place("[data-keys]");
if (opener) {
  opener.hidden = false;
  opener.addEventListener("click", () => help().showModal());
}

/** @param {EventTarget | null} target */
const typing = (target) =>
  target instanceof HTMLElement && (target.matches("input:not([type=checkbox]):not([type=radio]), textarea, select") || target.isContentEditable);

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || typing(event.target) || document.querySelector("dialog[open]")) return;
  const onRow = event.target instanceof HTMLElement && event.target.matches("[data-row]");
  const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  const key = singleKeysOn() ? keys.get(event.key) : undefined;
  const found = key && place(key.needs);
  if (onRow && step) move(step);
  else if (key && found) key.act(found);
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
const first = marked ?? document.querySelector("main [aria-invalid=true]") ?? document.getElementById("told");
if (first instanceof HTMLElement) first.focus();

export {};
