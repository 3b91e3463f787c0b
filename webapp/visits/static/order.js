/**
 * The order of a day: Alt with the arrow keys on a row's animal moves the row, and a row can be dragged.
 * Either way the whole order goes to the server, as the arrow buttons' does; the page comes back as it
 * stands there, with the focus on the row that was moved.
 */

const body = document.getElementById("order");
const form = document.getElementById("order-form");
const rows = () => /** @type {HTMLElement[]} */ ([...(body?.querySelectorAll("tr[data-visit]") ?? [])]);

/** @param {HTMLElement} moved */
function send(moved) {
  if (!(form instanceof HTMLFormElement)) return;
  const field = (/** @type {string} */ name) => /** @type {HTMLInputElement} */ (form.elements.namedItem(name));
  field("visit").value = moved.dataset.visit ?? "";
  field("ids").value = rows().map((row) => row.dataset.visit).join(" ");
  form.submit();
}

document.addEventListener("keydown", (event) => {
  if (!event.altKey || (event.key !== "ArrowUp" && event.key !== "ArrowDown")) return;
  const row = event.target instanceof HTMLElement ? /** @type {HTMLElement | null} */ (event.target.closest("tr[data-visit]")) : null;
  if (!row) return;
  event.preventDefault();
  const all = rows();
  const other = all[all.indexOf(row) + (event.key === "ArrowUp" ? -1 : 1)];
  if (!other) return;
  if (event.key === "ArrowUp") other.before(row);
  else other.after(row);
  send(row);
});

/** @type {HTMLElement | null} */
let dragged = null;
for (const row of rows()) {
  row.addEventListener("dragstart", (event) => {
    dragged = row;
    event.dataTransfer?.setData("text/plain", row.dataset.visit ?? ""); // without it one browser does not drag
  });
  row.addEventListener("dragover", (event) => {
    if (!dragged || dragged === row) return;
    event.preventDefault();
    row.classList.add("over");
  });
  row.addEventListener("dragleave", () => row.classList.remove("over"));
  row.addEventListener("drop", (event) => {
    event.preventDefault();
    row.classList.remove("over");
    if (!dragged || dragged === row) return;
    // On its lower half it goes below, so that a row can be the last one too.
    const place = row.getBoundingClientRect();
    if (event.clientY > place.top + place.height / 2) row.after(dragged);
    else row.before(dragged);
    send(dragged);
  });
}

export {};
