/**
 * Hands a kept PDF to the device's own sharing, where the browser has it; elsewhere the buttons stay hidden and the
 * download beside them does. Only the file goes: no title or words that could tell what is in it.
 */

/** @type {Map<string, File>} */
const fetched = new Map();

/** @param {string} words */
const tell = (words) => {
  const place = document.getElementById("shared");
  if (place) place.textContent = words;
};

/** @param {HTMLButtonElement} button */
async function file(button) {
  const address = button.dataset.share ?? "";
  const known = fetched.get(address);
  if (known) return known;
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
  const made = new File([await answer.blob()], button.dataset.name ?? "report.pdf", { type: "application/pdf" });
  fetched.set(address, made);
  return made;
}

/** @param {HTMLButtonElement} button */
async function share(button) {
  try {
    await navigator.share({ files: [await file(button)] });
    tell("Handed to this device.");
  } catch (error) {
    const name = error instanceof Error ? error.name : "";
    if (name === "AbortError") tell("Not shared.");
    else if (name === "NotAllowedError") tell("The file is ready now: press once more.");
    else tell("Sharing did not work: download the PDF instead.");
  }
}

const sample = new File(["%PDF-"], "report.pdf", { type: "application/pdf" });
if (navigator.canShare?.({ files: [sample] })) {
  for (const button of /** @type {NodeListOf<HTMLButtonElement>} */ (document.querySelectorAll("[data-share]"))) {
    button.hidden = false;
    button.addEventListener("click", () => share(button));
  }
}
