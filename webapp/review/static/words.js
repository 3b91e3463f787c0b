/**
 * The words of probability beside a text: a word goes in where the text cursor is, with spaces around it, and the
 * cursor stands behind it. One tab stop; the arrows move between the words.
 */

/** @param {HTMLTextAreaElement} field @param {string} word */
function putIn(field, word) {
  const { selectionStart: from, selectionEnd: to, value } = field;
  const before = from > 0 && !/\s$/.test(value.slice(0, from)) ? " " : "";
  const after = /^[\s.,;:!?)]/.test(value.slice(to)) ? "" : " ";
  field.focus();
  // Typed, not assigned: the browser's own undo takes it back.
  if (!document.execCommand("insertText", false, before + word + after)) {
    field.setRangeText(before + word + after, from, to, "end");
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
}

for (const group of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-words-for]"))) {
  const field = /** @type {HTMLTextAreaElement | null} */ (document.getElementById(group.dataset.wordsFor || ""));
  const buttons = /** @type {HTMLButtonElement[]} */ ([...group.querySelectorAll("[data-word]")]);
  if (!field) continue;
  group.hidden = false;
  for (const button of buttons) button.addEventListener("click", () => putIn(field, button.dataset.word || ""));
  group.querySelector("[role=toolbar]")?.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[/** @type {KeyboardEvent} */ (event).key];
    const here = buttons.findIndex((button) => button === document.activeElement);
    if (!step || here < 0) return;
    const next = buttons[(here + step + buttons.length) % buttons.length];
    for (const button of buttons) button.tabIndex = button === next ? 0 : -1;
    next.focus();
    event.preventDefault();
  });
}

export {};
