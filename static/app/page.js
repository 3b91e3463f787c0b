/** The page: starts storage, tables, engine, sync and service worker, and draws the screen of the moment. */
import { html, nothing, render } from 'lit-html';
import { erase, keepReading, press } from './acts.js';
import { onStorageTrouble } from './db.js';
import { prepareEngine, runEngine, useOverlay } from './engine.js';
import { steady } from './finger.js';
import { afterDrawing, furtherOnPage, watchEdges } from './further.js';
import { helpOnPage, noteHelped } from './help.js';
import { examInHand, readDraft } from './in-hand.js';
import { compareAnew, judgeAll, readAgain } from './judging.js';
import { handChanged, wake, watchLock } from './lock.js';
import { watchReturn } from './returning.js';
import * as limits from './limits-in-use.js';
import { loadSettings, takeSecret, takeToken } from './settings.js';
import { onChange, ownWays, state, update } from './state.js';
import { stripView } from './strip.js';
import { readComing, refreshCounts, startSync } from './sync.js';
import { loadTables, useOrder, useSpelling } from './tables.js';
import { registerWorker } from './update.js';
import { prepareReport } from './report.js';
import { watchUnsaved } from './unsaved.js';
import { copyLater } from './second.js';
import { catchUp } from './shelf.js';
import { isReadable } from './vault.js';
import { comeBack } from './taken-back.js';
import { allView } from './view-all.js';
import { keepAwake } from './wake.js';
import { animalView } from './view-animal.js';
import { afterExam, examView } from './view-exam.js';
import { listRead, listView, refreshList } from './view-list.js';
import { lockedView, onUnlocked, pinKey, pinView, pressPin, revokedView } from './view-lock.js';
import { moveView } from './view-move.js';
import { openView } from './view-open.js';
import { pairView } from './view-pair.js';
import { afterRegister, registerView } from './view-register.js';
import { resumable, resumeView } from './view-resume.js';
import { settingsView } from './view-settings.js';
import { trainingBand } from './training.js';
import { eraseWeight, pressWeight } from './start-form.js';
import { startView } from './view-start.js';
import { eraseTwice, keepTwice, pressTwice } from './twice.js';
import { twiceView } from './view-twice.js';

const SCREENS = /** @type {Record<string, () => unknown>} */ ({
  starting: () => html`<p class="starting">Gelside is starting: the app comes first, then today's list.</p>`,
  stopped: () => html`<div class="page"><h1>Gelside</h1><p class="notice bad" role="alert">${state.stopped}</p></div>`,
  list: listView, start: startView, exam: examView, all: allView, open: openView, animal: animalView, move: moveView,
  settings: settingsView, resume: resumeView, locked: lockedView, pin: pinView, pair: pairView, revoked: revokedView, limits: registerView, twice: twiceView,
});

const place = /** @type {HTMLElement} */ (document.getElementById('app'));
let drawn = '';

function draw() {
  const needsExam = ['exam', 'all', 'open', 'animal', 'move'].includes(state.screen);
  if (needsExam && !state.session) state.screen = 'list';
  if (revokedNow()) Object.assign(state, { screen: 'revoked', session: null });
  else if (state.screen === 'revoked') Object.assign(state, firstScreen());
  render(html`${trainingBand()}${stripView()}${helpOnPage()}${SCREENS[state.screen] ? SCREENS[state.screen]() : nothing}${furtherOnPage()}`, place);
  rulesOfPractice();
  if (drawn !== state.screen) {
    globalThis.scrollTo(0, 0);
    keepAwake(needsExam && Boolean(state.session));
    handChanged();
  }
  drawn = state.screen;
  tell();
  afterRegister();
  afterDrawing();
  afterExam();
  noteHelped();
}

/** The list, or the PIN where the phone is locked. */
function firstScreen() {
  return !isReadable() ? { screen: 'locked', form: { pin: '', words: '' } } : { screen: 'list', list: null };
}

/** A revoked phone shows nothing but that, and an exam that is going on or waits to be resumed. */
function revokedNow() {
  return state.sync.revoked && !examInHand() && !['starting', 'stopped', 'pair'].includes(state.screen);
}

/** The practice's own limits come into force between exams, never within one. */
function rulesOfPractice() {
  if (state.engine === 'starting' || !state.practice || !limits.mayChange()) return;
  const told = limits.told();
  useSpelling(told.spelling);
  useOrder(ownWays().order);
  if (!useOverlay(told.overlay, told.spelling)) return;
  state.engine = 'starting';
  // Not kept: a start with an exam in hand judges by the ones before, as this window did until now.
  limits.keep(told).catch((error) => update({ trouble: error.message }));
}

/** The page's state as attributes of the body: for tests and for styles, never for decisions. */
function tell() {
  const { session } = state;
  const data = document.body.dataset;
  data.ready = state.screen === 'starting' ? 'no' : 'yes';
  data.screen = state.screen;
  data.engine = state.engine;
  data.offline = state.offlineReady ? 'ready' : 'no';
  data.sync = state.sync.phase;
  data.round = state.sync.asked ? 'asked' : 'over';
  data.pending = String(state.sync.pending);
  data.held = String(state.sync.held);
  data.own = String(state.sync.own);
  data.limits = state.versions?.limits_version || '';
  data.update = state.updateReady ? 'ready' : 'no';
  data.saved = session ? String(session.entries.length) : '';
  data.saving = session ? String(session.provisional.length) : '0';
  data.judged = session ? String(session.judged) : '';
  // Nothing on its way to the disk, and the rules have seen all that is there.
  data.settled = session && !session.provisional.length && session.judged === session.entries.length ? 'yes' : 'no';
}

/** Why no exam may start here, in words, or null. */
function obstacle() {
  if (globalThis.crypto?.subtle && globalThis.isSecureContext) return null;
  return 'This address is not secure (plain http). A real phone needs https: entries cannot be sealed here, so no exam can start.';
}

/** A keyboard beside the phone (an assistant's) types like the keypad does. @param {KeyboardEvent} event */
function onKey(event) {
  const target = /** @type {HTMLElement} */ (event.target);
  if (/^(INPUT|TEXTAREA)$/.test(target.tagName) || event.ctrlKey || event.metaKey || event.altKey) return;
  if (['locked', 'pin'].includes(state.screen)) {
    if (/^[0-9]$/.test(event.key)) pressPin(event.key);
    else if (!(event.key === 'Enter' && target.tagName === 'BUTTON') && pinKey(event.key)) event.preventDefault();
    return;
  }
  if (state.screen === 'start') {
    if (/^[0-9.,]$/.test(event.key)) pressWeight(event.key);
    else if (event.key === 'Backspace') eraseWeight();
    return;
  }
  if (state.screen === 'twice') {
    if (/^[0-9.,]$/.test(event.key)) pressTwice(event.key);
    else if (event.key === 'Backspace') eraseTwice();
    else if (event.key === 'Enter' && target.tagName !== 'BUTTON') keepTwice();
    return;
  }
  if (state.screen !== 'exam' || state.session?.panel) return;
  if (/^[0-9.,]$/.test(event.key)) press(event.key);
  else if (event.key === 'Backspace') erase();
  else if (event.key === 'Enter' && target.tagName !== 'BUTTON') keepReading();
  else return;
  event.preventDefault();
}

/** Text pasted onto the exam screen lands in the box as it is ("41.2 mm"); keep decides. @param {ClipboardEvent} event */
function onPaste(event) {
  const target = /** @type {HTMLElement} */ (event.target);
  if (state.screen !== 'exam' || state.session?.panel || /^(INPUT|TEXTAREA)$/.test(target.tagName)) return;
  const text = event.clipboardData?.getData('text/plain').trim().slice(0, 14);
  if (text) press(text);
}

/** The first screen of an open phone: back to where the hand was, a pairing, or the list. */
async function enter() {
  const secret = state.stopped ? null : takeSecret();
  const resume = state.stopped ? null : await resumable(await readDraft('position'));
  const screen = resume ? 'resume' : secret ? 'pair' : 'list';
  update({ resume, screen, form: secret ? { secret, name: '' } : null });
}

/** Word between windows can be lost, and a browser may show a page again as it was: at each look the journal is read. */
function watchSight() {
  const look = () => {
    if (document.visibilityState !== 'visible' || !isReadable()) return;
    if (state.session) readAgain(state.session.id);
    else refreshList();
  };
  document.addEventListener('visibilitychange', look);
  globalThis.addEventListener('focus', look);
  globalThis.addEventListener('pageshow', (event) => event.persisted && look());
}

async function start() {
  place.replaceChildren();
  onChange(steady(draw));
  onStorageTrouble((message) => update({ trouble: message }));
  document.addEventListener('keydown', onKey);
  document.addEventListener('paste', onPaste);
  globalThis.addEventListener('hashchange', async () => {
    if ((await takeToken()) || location.hash.startsWith('#pair=')) location.reload();
  });
  update({ stopped: obstacle() });
  try {
    if (!state.stopped) await takeToken();
    const [changed] = await Promise.all([comeBack(), loadSettings(), loadTables()]);
    if (changed) await loadSettings();
  } catch (error) {
    update({ screen: 'stopped', stopped: error instanceof Error ? error.message : String(error) });
    return;
  }
  useSpelling(state.practice?.spelling);
  // Counting opens entries where it may: the lock is known first.
  const readable = await wake(resumable);
  onUnlocked(enter);
  // Whoever needs the entries asks for them again, and says what stood in the way.
  const opened = readable ? catchUp().catch(() => undefined) : null;
  const [{ overlay, spelling }] = await Promise.all([limits.atStart(), refreshCounts(), readComing(), opened]);
  prepareEngine((engine) => {
    const { ready, failed } = engine;
    update({ engine: ready ? 'ready' : 'failed', engineWords: failed || '', versions: engine.versions || null });
    if (ready && state.session && !state.session.folded) judgeAll();
    if (ready && state.list?.day.asPlanned) refreshList();
  }, overlay, spelling);
  if (readable) await enter();
  else update({ screen: 'locked', form: { pin: '', words: '' } });
  // The first list comes before all that it can do without.
  listRead().then(runEngine);
  watchLock();
  watchUnsaved();
  watchReturn();
  watchSight();
  watchEdges();
  await prepareReport();
  // Where nothing may be recorded there is nothing to bring, and such an address has no lock between windows.
  if (!state.stopped) startSync((fresh) => {
    refreshList();
    for (const exam of new Set(fresh.map((entry) => entry.exam))) if (exam) readAgain(exam);
    compareAnew(fresh);
  });
  copyLater(null);
  setInterval(() => update(), 30000);
  await registerWorker();
}

start();
