/** The first screen: today's animals, a walk-in, and where this phone stands. */
import { html, nothing } from 'lit-html';
import { chip } from './chip.js';
import { show } from './exam.js';
import { loadList } from './list-data.js';
import { state, update } from './state.js';
import { applyUpdate } from './update.js';
import { stateOfVault } from './vault.js';
import { patientWords } from './view-exam.js';
import { cloneNotice } from './view-settings.js';
import { emptyForm, formFromVisit } from './view-start.js';

const STAGE = { waiting: '', begun: 'begun', finished: 'finished', signed: 'signed' };
let loading = false;
let wanted = false;

/** Read the list again (after a pull, or when the screen is shown). */
export async function refreshList() {
  wanted = true;
  if (loading) return;
  loading = true;
  try {
    while (wanted) {
      wanted = false;
      update({ list: await loadList() });
    }
  } finally {
    loading = false;
  }
}

/** @param {import('./list-data.js').Item} item */
function open(item) {
  // The start page asks who scans; an exam that was begun elsewhere would otherwise be written by nobody.
  if (item.exam && !state.settings.author) update({ screen: 'settings', form: { back: 'list', whoFirst: true } });
  else if (item.exam) show(item.exam, null);
  else update({ screen: 'start', form: formFromVisit(item) });
}

/** @param {import('./list-data.js').Item} item */
function row(item) {
  const last = item.earlier[0];
  return html`<button class="visit stage-${item.stage}" data-visit=${item.key} @click=${() => open(item)}>
    <span class="visit-time">${item.time}</span>
    <span class="visit-who"><b>${item.patient.name || 'no name'}</b> ${patientWords(item.patient)}</span>
    <span class="visit-asked">${item.question.text || 'no question written'}</span>
    <span class="visit-more">${STAGE[item.stage]}${last ? `${item.stage === 'waiting' ? '' : '; '}last exam ${last.date}` : ''}</span>
  </button>`;
}

function notices() {
  return html`
    ${state.updateReady ? html`<button class="notice" data-act="update" @click=${applyUpdate}>new version ready: start it now</button>` : nothing}
    ${!state.sync.connected ? html`<p class="notice calm">Not connected to a practice. Everything works on this phone alone; open the practice's phone link once, or <button class="inline" data-act="pair-start" @click=${() => update({ screen: 'pair', form: { code: '', name: '' } })}>pair this phone</button></p>` : nothing}
    ${!state.settings.author ? html`<button class="notice" data-act="who" @click=${() => update({ screen: 'settings', form: { back: 'list' } })}>Who is scanning? Set it once here.</button>` : nothing}
    ${state.practice?.lock?.pin && state.practice.server_key && stateOfVault() === 'none' ? html`<button class="notice" data-act="set-pin" @click=${() => update({ screen: 'pin', form: { pin: '' } })}>The practice asks for a PIN on this phone: choose one.</button>` : nothing}
    ${cloneNotice()}
    ${state.cleared ? html`<p class="notice" data-cleared="yes">This phone was revoked at the desk. Its ${state.cleared.entries} entries are at ${state.cleared.practice}; on ${state.cleared.at.slice(0, 10)} it cleared itself.</p>` : nothing}
    ${state.trouble ? html`<p class="notice bad" role="alert">${state.trouble}</p>` : nothing}
    ${state.stopped ? html`<p class="notice bad" role="alert">${state.stopped}</p>` : nothing}`;
}

export function listView() {
  if (!state.list) {
    refreshList();
    return html`<div class="page"><p class="starting">reading the list ...</p></div>`;
  }
  const { date, today, items } = state.list;
  return html`<div class="page list">
    <div class="bar"><h1>${today ? 'Today' : `List of ${date}`}</h1></div>
    <div class="bar">${chip()}</div>
    ${notices()}
    <div class="visits">${items.length ? items.map(row) : html`<p class="empty">No animals on the list yet. A walk-in can start right away.</p>`}</div>
    <div class="ends">
      <button class="answer wide normal" data-act="walk-in" ?disabled=${Boolean(state.stopped)} @click=${() => update({ screen: 'start', form: emptyForm() })}>walk-in animal</button>
      <button class="answer quiet" data-act="settings" @click=${() => update({ screen: 'settings', form: { back: 'list' } })}>settings</button>
    </div>
  </div>`;
}
