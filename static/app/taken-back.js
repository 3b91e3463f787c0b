/** What the list says after the browser threw the storage away, until somebody has read it. */
import { html, nothing } from 'lit-html';
import { momentWords } from './dates.js';
import { localTime } from './entry.js';
import { setMeta, storageWords } from './db.js';
import { foundCopy, onCopyTrouble, takeBack } from './second.js';
import { state, update } from './state.js';

const EMPTIED = 'The browser emptied the storage of this phone. Close Gelside and start it again: what was not sent comes back from its second copy.';
const OTHER_PIN = 'What this phone had not sent when the browser emptied its storage lies behind another PIN. It cannot be opened here and is left as it lies.';
let otherPin = false;

/** Before anything else is read. @returns {Promise<boolean>} whether the storage is another one now */
export async function comeBack() {
  onCopyTrouble((trouble) => {
    if (trouble === 'emptied') update({ trouble: otherPin ? OTHER_PIN : EMPTIED });
    else if (state.noCopy !== (trouble === 'failed')) update({ noCopy: trouble === 'failed' });
  });
  try {
    const found = await foundCopy();
    otherPin = Boolean(found) && !(await takeBack(/** @type {import('./second.js').Head} */ (found), localTime()));
    return Boolean(found);
  } catch (error) {
    // The copy lies as it lay; the phone's own storage says for itself whether it works.
    update({ noCopy: true, trouble: `The second copy of this phone's entries could not be read: ${error instanceof Error ? error.message : error}` });
    return false;
  }
}

async function read() {
  try {
    await setMeta('taken_back', null);
    update({ takenBack: null });
  } catch (error) {
    update({ trouble: storageWords(error, 'that you have read this') });
  }
}

/** @param {number} count @param {string} one @param {string} many */
function counted(count, one, many) {
  return `${count} ${count === 1 ? one : many}`;
}

export function takenBackNotice() {
  const told = state.takenBack;
  if (!told) return nothing;
  const { entries, missing, photos } = told;
  const practice = told.practice || 'the practice';
  return html`<div class="notice bad" role="alert" data-taken-back=${entries}>
    <p>The browser emptied the storage of this phone (found on ${momentWords(told.at)}).
    ${entries ? `${counted(entries, 'entry that was not sent is', 'entries that were not sent are')} here again, from a second copy. Look whether the last reading is there.` : 'By its second copy nothing was waiting to be sent.'}
    ${missing ? `${counted(missing, 'entry', 'entries')} could not be read from the copy.` : nothing}
    ${photos ? `${counted(photos, 'photo or clip', 'photos or clips')} not sent yet ${photos === 1 ? 'is' : 'are'} lost: take ${photos === 1 ? 'it' : 'them'} again.` : nothing}
    What was sent is at ${practice}.${state.sync.connected ? nothing : ' Pair this phone again to send and to see the list.'}</p>
    <button class="answer wide quiet" data-act="taken-back-read" @click=${read}>I have read this</button></div>`;
}
