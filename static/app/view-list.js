/** The first screen: today's animals, a walk-in, and where this phone stands. */
import { html, nothing } from 'lit-html';
import { chip } from './chip.js';
import { chipButton } from './controls.js';
import { dayWords } from './dates.js';
import { loadList } from './list-data.js';
import { open, openWalkIn } from './opening.js';
import { saveSettings } from './settings.js';
import { state, update } from './state.js';
import { takenBackNotice } from './taken-back.js';
import { applyUpdate } from './update.js';
import { isReadable, PhoneLocked, stateOfVault } from './vault.js';
import { patientWords } from './who.js';
import { cloneNotice } from './view-settings.js';

/** @typedef {import('./list-data.js').Item} Item */

const STAGE = { waiting: '', begun: 'begun', finished: 'finished', signed: 'signed' };
/** Rows that have just moved take no tap yet, and say so: a finger on its way would open another animal. */
const SETTLE_MS = 700;
const HOUR_MS = 3600000;
/** Ends well when what is being read is shown, whatever came of it. @type {Promise<void>} */
let reading = Promise.resolve();
let loading = false;
let wanted = false;
let shown = '';
/** On a clock that nobody sets: one that was put back would keep the rows shut. */
let movedAt = -Infinity;

/** When the list that is being read stands on the screen, or could not be read. */
export function listRead() {
  return reading;
}

/** Read the list again (after a pull, or when the screen is shown). */
export async function refreshList() {
  wanted = true;
  if (loading) return;
  loading = true;
  const now = readList();
  reading = now.catch(() => undefined);
  await now;
}

async function readList() {
  try {
    while (wanted) {
      wanted = false;
      const list = await loadList(refreshList);
      if (!isReadable()) return;
      noteMoves(list.items);
      update({ list });
    }
  } catch (error) {
    // It locked meanwhile: opened again, it reads anew.
    if (!(error instanceof PhoneLocked)) throw error;
  } finally {
    loading = false;
  }
}

/** @param {Item[]} items */
function noteMoves(items) {
  const now = items.map((item) => item.key).join();
  if (shown && now !== shown && state.list) {
    movedAt = performance.now();
    setTimeout(update, SETTLE_MS + 1);
  }
  shown = now;
}

function settling() {
  return performance.now() - movedAt < SETTLE_MS;
}

/** @param {Item} item */
function tapped(item) {
  if (!settling()) open(item);
}

/** @param {Item} item */
function moreWords(item) {
  const [last] = item.earlier;
  const earlier = item.earlier.length > 1 ? `${item.earlier.length} earlier exams, last ${dayWords(last.date)}` : last ? `last exam ${dayWords(last.date)}` : '';
  const coming = state.sync.coming && !last ? 'earlier exams may still be coming' : '';
  return [STAGE[item.stage], placeWords(item), item.changed, earlier, coming].filter(Boolean).join('; ');
}

/** @param {Item} item */
function placeWords(item) {
  const { visit } = item;
  const person = visit?.sonographer && state.settings.author && visit.sonographer !== state.settings.author ? nameOf(visit.sonographer) : '';
  return [visit?.place, person, visit?.urgency && visit.urgency !== 'routine' ? visit.urgency : ''].filter(Boolean).join(', ');
}

/** @param {string} id */
function nameOf(id) {
  return state.practice?.people.find((person) => person.id === id)?.name || id;
}

/** @param {Item} item */
function row(item) {
  return html`<button class="visit stage-${item.stage} ${item.away ? 'away' : ''}" data-visit=${item.key} data-away=${item.away} aria-disabled=${settling()} @click=${() => tapped(item)}>
    <span class="visit-time">${item.time}</span>
    <span class="visit-who"><b>${item.patient.name || 'no name'}</b> ${patientWords(item.patient)}</span>
    ${item.away ? html`<span class="visit-away">${item.away}</span>` : nothing}
    <span class="visit-asked">${item.question.text || 'no question written'}</span>
    <span class="visit-more">${moreWords(item)}</span>
    ${item.asked.map((one) => html`<span class="visit-asks"><b>${nameOf(one.author)} asks:</b> ${one.text}</span>`)}
    ${item.forks.map((words) => html`<span class="visit-fork">${words}</span>`)}
  </button>`;
}

/** One's own animals first where somebody is planned; the order within stays as planned. @param {Item[]} items */
function rows(items) {
  const here = items.filter((item) => !item.away);
  const away = items.filter((item) => item.away);
  const mine = here.filter((item) => !item.visit || item.visit.sonographer === state.settings.author);
  const others = here.filter((item) => !mine.includes(item));
  const choice = mine.some((item) => item.visit) && others.length > 0;
  const byPerson = choice && state.settings.listOrder === 'mine';
  return html`
    ${choice ? html`<div class="choices two" data-group="order">${chipButton('mine first', () => saveSettings({ listOrder: 'mine' }), byPerson)}${chipButton('as planned', () => saveSettings({ listOrder: 'plan' }), !byPerson)}</div>` : nothing}
    <div class="visits">${byPerson ? html`${mine.map(row)}<h2>others'</h2>${others.map(row)}` : here.map(row)}</div>
    ${away.length ? html`<h2>not today any more</h2><div class="visits">${away.map(row)}</div>` : nothing}`;
}

/** Where nothing is promised, an hour is long. */
function waitsLong() {
  const { pending, oldest } = state.sync;
  return Boolean(pending && oldest && Date.now() - new Date(oldest).getTime() > HOUR_MS);
}

function notices() {
  return html`${takenBackNotice()}
    ${state.updateReady ? html`<button class="notice" data-act="update" @click=${applyUpdate}>new version ready: start it now</button>` : nothing}
    ${!state.sync.connected && !state.stopped ? html`<p class="notice calm">Not connected to a practice. Everything works on this phone alone; open the practice's phone link once, or <button class="inline" data-act="pair-start" @click=${() => update({ screen: 'pair', form: { code: '', name: '' } })}>pair this phone</button></p>` : nothing}
    ${!state.settings.author ? html`<button class="notice" data-act="who" @click=${() => update({ screen: 'settings', form: { back: 'list' } })}>Who is scanning? Set it once here.</button>` : nothing}
    ${state.practice?.lock?.pin && state.practice.server_key && stateOfVault() === 'none' ? html`<button class="notice" data-act="set-pin" @click=${() => update({ screen: 'pin', form: { pin: '' } })}>The practice asks for a PIN on this phone: choose one.</button>` : nothing}
    ${cloneNotice()}
    ${(state.promised === false || state.noCopy) && waitsLong() ? html`<p class="notice" data-urged="yes">The browser does not promise to keep what is stored on this phone: bring it to the practice soon.</p>` : nothing}
    ${state.cleared ? html`<p class="notice" data-cleared="yes">This phone was revoked at the desk. Its ${state.cleared.entries} entries are at ${state.cleared.practice}; on ${dayWords(state.cleared.at)} it cleared itself.</p>` : nothing}
    ${state.list?.day.asPlanned ? html`<p class="notice" data-as-planned="yes">The list stands as it was planned: what the desk changed since cannot be read at the moment.</p>` : nothing}
    ${state.trouble ? html`<p class="notice bad" role="alert">${state.trouble}</p>` : nothing}
    ${state.stopped ? html`<p class="notice bad" role="alert">${state.stopped}</p>` : nothing}`;
}

/** Whether the very first list is on its way: what nobody has fetched yet is not called empty. */
function firstComes() {
  const { connected, phase, revoked } = state.sync;
  return connected && !revoked && !state.practice && ['idle', 'sending', 'fetching'].includes(phase);
}

export function listView() {
  if (!state.list) {
    refreshList();
    return html`<div class="page"><p class="starting">reading the list ...</p></div>`;
  }
  const { date, today, items } = state.list;
  return html`<div class="page list">
    <div class="bar"><h1>${today ? 'Today' : `List of ${dayWords(date)}`}</h1></div>
    <div class="bar">${chip()}</div>
    ${notices()}
    ${items.length ? rows(items) : html`<p class="empty" data-coming=${firstComes()}>${firstComes() ? "Getting today's list from the practice." : 'No animals on the list yet.'} A walk-in can start right away.</p>`}
    <div class="ends">
      <button class="answer wide normal" data-act="walk-in" ?disabled=${Boolean(state.stopped)} @click=${openWalkIn}>walk-in animal</button>
      <button class="answer quiet" data-act="settings" @click=${() => update({ screen: 'settings', form: { back: 'list' } })}>settings</button>
    </div>
  </div>`;
}
