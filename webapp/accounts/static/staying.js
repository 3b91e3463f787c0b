/**
 * Someone who writes in a form is here: the session goes on. Where it has ended all the same, the page says so at
 * once and keeps the text; sending the form then leads through the sign-in and on, with the text.
 */

const EVERY_MS = 4 * 60 * 1000; // well within any idle end a practice may set
const form = document.getElementById("work");
const address = document.querySelector("meta[name=still-here]")?.getAttribute("content");
let asked = Date.now();

async function tell() {
  asked = Date.now();
  let answer;
  try {
    answer = await fetch(/** @type {string} */ (address), { redirect: "manual" });
  } catch (error) {
    console.info("the server did not answer; asked again while someone writes", error);
    return;
  }
  if (answer.status !== 204) warn();
}

/** One line above the form; the text below it stays as it is. */
function warn() {
  if (document.getElementById("signed-out")) return;
  const line = document.createElement("p");
  line.id = "signed-out";
  line.className = "told bad";
  line.setAttribute("role", "alert");
  line.textContent = "You are not signed in any more. Your text stays here: save it, and sign in when you are asked.";
  form?.before(line);
}

if (form && address) {
  form.addEventListener("input", () => {
    if (Date.now() - asked > EVERY_MS) void tell();
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") void tell();
  });
}

export {};
