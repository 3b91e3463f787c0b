/** Settings: who scans, the machine's unit, the theme, where the entries are, and the cautions in short. */
import { html, nothing } from 'lit-html';
import { KEEP_DAYS } from './cleanup.js';
import { chip } from './chip.js';
import { giveCopy } from './copy.js';
import { chipButton } from './controls.js';
import { dayWords, momentWords } from './dates.js';
import { saveSettings } from './settings.js';
import { inHand } from './who.js';
import { state, update } from './state.js';
import { sendNow } from './sync.js';
import { rulesHash, say } from './tables.js';
import { lockAll } from './lock.js';
import { stateOfVault } from './vault.js';
import { openRegister } from './view-register.js';
import { measureTwice } from './view-twice.js';
import { train } from './training.js';

const CAUTIONS = [
  'Gelside keeps measurements and compares them with published limits. It makes no diagnosis and does not replace the judgement of the vet who examined the animal.',
  'A limit describes the animals of one study. Outside a limit is not the same as ill; inside is not the same as healthy.',
  'Breed, age, sedation, fluids, position, machine and observer can move a value across a limit.',
  'Size alone neither proves nor excludes an adrenal disease: signs and hormone tests decide. Earlier steroids can thin the glands.',
  '"Not seen" and "partly seen" mean exactly that; nothing follows for those parts.',
  'A normal scan does not exclude disease, and appearance rarely tells benign from malignant.',
];

/** Who writes: people of the practice, or initials while no connection was made. */
export function whoView() {
  const { settings, practice } = state;
  const staff = practice?.people || [];
  const pick = (/** @type {import('./types').Person} */ person) => saveSettings({ author: person.id, authorName: person.name });
  return html`<h2>who is scanning</h2>
    ${staff.length ? html`<div class="choices two">${staff.map((person) => chipButton(person.name, () => pick(person), settings.author === person.id))}</div>` : nothing}
    <label class="small" for="initials">${staff.length ? 'or initials' : 'initials (the list of people comes with the connection)'}</label>
    <input id="initials" class="text" type="text" maxlength="12" autocomplete="off" .value=${settings.author && !staff.some((person) => person.id === settings.author) ? settings.author : ''}
      @change=${(/** @type {any} */ event) => saveSettings({ author: event.target.value.trim() || null, authorName: event.target.value.trim() || null })}>
    ${staff.length ? html`<h2>writing for</h2><div class="choices two">${chipButton('nobody else', () => saveSettings({ behalf: null }), !settings.behalf)}${staff.filter((person) => person.id !== settings.author).map((person) =>
        chipButton(person.name, () => saveSettings({ behalf: person.id }), settings.behalf === person.id))}</div>` : nothing}`;
}

/** Only for the size of one pixel of the display: rows of the picture, as the machine's papers or its export say. */
function rowsView() {
  const { machineRows } = state.settings;
  const keep = (/** @type {string} */ text) => {
    const sound = /^[1-9][0-9]{1,4}$/.test(text);
    if (sound || !text) saveSettings({ machineRows: text || null });
    update({ form: { ...state.form, rowsWords: sound || !text ? '' : `"${text}" is no number of rows: a whole number like 600, or nothing.` } });
  };
  return html`<label class="small" for="machine-rows">rows of the machine's picture (may stay empty)</label>
    <input id="machine-rows" class="text" type="text" inputmode="numeric" maxlength="5" autocomplete="off" .value=${machineRows || ''}
      @change=${(/** @type {any} */ event) => keep(event.target.value.trim())}>
    ${state.form?.rowsWords ? html`<p class="problem-words" role="alert">${state.form.rowsWords}</p>` : nothing}`;
}

/** The practice told that a second phone carries this one's name. */
export function cloneNotice() {
  if (!state.clone) return nothing;
  return html`<p class="notice" data-clone="yes">A copy of this phone (from a backup?) also sends to the practice. Nothing is lost: both phones' entries are kept, and this one goes on under a new name since ${momentWords(state.clone.at)}.</p>`;
}

/** How safe what lies here is, and which of two storages this window has. */
function keptWords() {
  const installed = matchMedia('(display-mode: standalone)').matches || /** @type {any} */ (navigator).standalone === true;
  const where = installed ? 'This is the installed app' : 'This is a window of the browser: an app installed beside it has a storage, entries and a name of its own';
  const promise = state.promised ? 'the browser promised to keep what is stored here' : 'the browser does NOT promise to keep what is stored here: send soon, and install the app';
  return `${where}; ${promise}.`;
}

async function copy() {
  update({ form: { ...state.form, copied: await giveCopy() } });
}

function connection() {
  const { sync, practice } = state;
  const words = sync.connected ? `connected to ${practice ? practice.practice : 'the practice'}${practice ? ` as ${practice.phone}` : ''}` : 'not connected: open the phone link of the practice once on this phone';
  return html`<h2>where the entries are</h2>${chip()}
    <p class="asked" data-connection=${sync.connected ? 'yes' : 'no'}>${words}</p>
    <p class="small">${sync.own} entries were made on this phone, ${sync.pending} of them not sent.${sync.receipt ? ` The practice's receipt of ${momentWords(sync.receipt.at)} UTC: ${sync.receipt.held} held, unbroken up to ${sync.receipt.through}.` : ''}</p>
    ${sync.photos ? html`<p class="small" data-photos=${sync.photos}>${sync.photos} ${sync.photos === 1 ? 'picture or clip is' : 'pictures and clips are'} not sent yet; ${sync.photos === 1 ? 'it goes' : 'they go'} after the text. ${sync.photoTrouble}</p>` : nothing}
    ${sync.reason ? html`<p class="small" data-reason=${sync.code}>${sync.reason}</p>` : nothing}
    ${cloneNotice()}
    <div class="choices two">${chipButton(sync.connected ? 'pair this phone anew' : 'pair this phone', () => update({ screen: 'pair', form: { code: '', name: '' } }))}
      ${chipButton('give me a copy', copy)}
      ${practice?.server_key && stateOfVault() === 'none' ? chipButton('set a PIN', () => update({ screen: 'pin', form: { pin: '' } })) : nothing}
      ${stateOfVault() === 'open' ? chipButton('change the PIN', () => update({ screen: 'pin', form: { change: true, pin: '' } })) : nothing}
      ${stateOfVault() === 'open' && !state.session ? chipButton('lock now', lockAll) : nothing}</div>
    ${state.form?.copied ? html`<p class="notice calm" role="status" data-copied="yes">${state.form.copied}</p>` : nothing}
    <button class="answer wide" data-act="send-now" ?disabled=${!sync.connected} @click=${sendNow}>send and fetch now</button>`;
}

/** By which limits values are compared here, and the register behind them. */
function limitsPart() {
  const now = state.session?.judgement?.limits_version || state.versions?.limits_version || '';
  const wanted = state.practice?.limits_version;
  const waits = wanted && now && wanted !== now;
  return html`<h2>limits</h2><p class="asked" data-limits-version=${now}>${now || 'starting'}</p>
    ${waits ? html`<p class="small">The practice's newer ${wanted} comes into force ${state.session ? 'after this exam' : 'as soon as the rules have started again'}.</p>` : nothing}
    <button class="answer wide" data-act="limits" @click=${openRegister}>limits and their sources</button>`;
}

/** What left this phone after the practice's days, so that nobody looks for it here. */
function leftView() {
  const days = state.practice?.lock?.keep_days ?? KEEP_DAYS;
  return html`<details class="fold" data-left=${state.left.length}><summary>what leaves this phone</summary>
    <p class="small">Exams that the practice has acknowledged leave this phone after ${days} days; what is not sent never does, and an exam begun on this phone stays until it is finished.</p>
    ${state.left.map((one) => html`<p class="small">${dayWords(one.at)}: ${one.exams} exams or visits (${one.entries} entries) left after ${one.days} days</p>`)}</details>`;
}

export function settingsView() {
  const { settings } = state;
  const back = state.form?.back || 'list';
  return html`<div class="page settings">
    ${inHand()}
    <div class="bar"><h1>Settings</h1><button class="finish" data-act="back" @click=${() => update({ screen: back, form: null, list: back === 'list' ? null : state.list })}>back</button></div>
    ${state.form?.said ? html`<p class="notice calm" role="status">${state.form.said}</p>` : nothing}
    ${state.form?.whoFirst ? html`<p class="notice">Choose who is scanning, then open the animal again: each entry carries its author.</p>` : nothing}
    ${whoView()}
    <h2>the machine shows</h2>
    <div class="choices two">${(/** @type {('mm' | 'cm')[]} */ (['mm', 'cm'])).map((unit) => chipButton(unit, () => saveSettings({ machineUnit: unit }), settings.machineUnit === unit))}</div>
    ${rowsView()}
    <h2>a reading is kept</h2>
    <div class="choices two">${chipButton('by the keep key', () => saveSettings({ selfKeep: false }), !settings.selfKeep)}${chipButton('by its last digit', () => saveSettings({ selfKeep: true }), settings.selfKeep)}</div>
    <p class="small">By its last digit: a length whose usual size is known keeps itself as soon as it is typed to 0.1 mm (6.2 mm, 0.62 cm). "Erase" or "undo" takes it back; then it waits for the key, as whole numbers and all others do. The point is always yours to type. Where the machine shows more digits, choose the key.</p>
    <h2>the thumb that types</h2>
    <div class="choices two">${chipButton('right thumb', () => saveSettings({ hand: 'right' }), settings.hand !== 'left')}${chipButton('left thumb', () => saveSettings({ hand: 'left' }), settings.hand === 'left')}</div>
    <h2>one sentence of help on each screen</h2>
    <div class="choices two">${chipButton('the first time', () => saveSettings({ help: 'once' }), settings.help !== 'always')}${chipButton('always', () => saveSettings({ help: 'always' }), settings.help === 'always')}</div>
    <h2>screen</h2>
    <div class="choices two">${chipButton('dim room', () => saveSettings({ theme: 'dim' }), settings.theme === 'dim')}${chipButton('bright room', () => saveSettings({ theme: 'bright' }), settings.theme === 'bright')}</div>
    ${connection()}
    <p class="small" data-promised=${String(state.promised)}>${keptWords()}</p>
    ${leftView()}
    ${limitsPart()}
    <h2>your own spread</h2>
    <button class="answer wide" data-act="measure-twice" @click=${() => measureTwice({ back: 'settings' })}>measure twice (practice)</button>
    ${state.session ? nothing : html`<h2>training</h2>
    <div class="choices two">${chipButton('training dog', () => train('dog'))}${chipButton('training cat', () => train('cat'))}</div>
    <p class="small">An invented animal to try everything on. It stands on no list, here or at the practice, and teaches no spread.</p>`}
    <h2>cautions</h2>
    <ul class="cautions">${CAUTIONS.map((words) => html`<li>${say(words)}</li>`)}</ul>
    <p class="small">version ${GELSIDE_VERSION}, rules ${state.versions?.core_version || rulesHash().slice(0, 12)}; ${state.offlineReady ? 'this phone can start without a network' : 'not yet stored for use without a network'}${state.engineWords ? `; limits are not compared: ${state.engineWords}` : ''}</p>
  </div>`;
}
