/** The page that waits for a phone: asks every two seconds whether anything changed, and then loads anew. */

const EVERY_MS = 2000;
const WAITS = ["open", "waiting", "confirmed"];
const box = document.getElementById("pairing");

async function look() {
  const shown = box?.dataset.state ?? "";
  if (!box?.dataset.address || !WAITS.includes(shown)) return;
  try {
    const answer = await fetch(box.dataset.address, { headers: { Accept: "application/json" } });
    // A sign-in page instead of an answer: load anew, so that the person can sign in.
    if (answer.redirected || (answer.ok && (await answer.json()).state !== shown)) {
      location.reload();
      return;
    }
  } catch (error) {
    console.info("The server did not answer just now", error);
  }
  setTimeout(look, EVERY_MS);
}

setTimeout(look, EVERY_MS);
