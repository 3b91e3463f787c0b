/** Looks every half second how far an import is; when it has ended the page comes anew and says how. */

const bar = document.querySelector("progress[data-progress]");
const words = document.getElementById("progress-words");

async function look() {
  if (!(bar instanceof HTMLProgressElement)) return;
  try {
    const answer = await fetch(bar.dataset.progress ?? "", { headers: { Accept: "application/json" } });
    const told = await answer.json();
    if (told.state !== "running") {
      location.reload();
      return;
    }
    if (told.total) {
      bar.max = told.total;
      bar.value = told.done;
    }
    if (words) words.textContent = told.total ? `${told.what}: ${told.done} of ${told.total} rows` : "looking at the file";
  } catch (error) {
    if (words) words.textContent = `The server did not answer (${String(error)}); looking again.`;
  }
  setTimeout(look, 500);
}

look();

export {};
