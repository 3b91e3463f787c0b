/** The one state of the page and the one place that redraws it. Screens read it, acts change it through `update`. */

/** @typedef {import('./types').Settings} Settings */

/**
 * @typedef {object} Session the exam on the screen
 * @property {string} id
 * @property {import('./types').Entry[]} entries saved, in memory
 * @property {import('./types').Entry[]} provisional tapped, not yet saved
 * @property {boolean} stale another window wrote while something was on its way here: to be read again
 * @property {import('./types').ExamView} view fold of both
 * @property {import('./types').Judgement | null} judgement
 * @property {number} judged how many saved entries the judgement covers
 * @property {import('./types').EarlierExam[]} earlier
 * @property {string} comparedFor the animal whose earlier exams the judgement knows
 * @property {any} folded the engine's exam (forks, unread)
 * @property {string} structure
 * @property {string | null} row
 * @property {string} typed
 * @property {any} panel what the lower part of the screen shows instead of the keypad
 * @property {boolean} parts
 * @property {boolean} more
 * @property {string | null} problem
 * @property {{message: string, offers: {value: string, words: string}[]} | null} asking
 * @property {{words: string, ids: string[], structure: string, first: import('./record.js').Act, itself?: {row: string | null, typed: string} | null} | null} lastAct `itself`: a number that kept itself, as typed
 * @property {boolean} byKey the digits in the box were taken back: they wait for the key
 * @property {string} takenBack the number that was taken back into this box, as it had kept itself
 * @property {string | null} lesion
 * @property {{why: string, what: string[], acts: import('./record.js').Act[]} | null} unsaved what the phone's storage refused, each by name and value
 * @property {Record<string, any>} learned the practice's spread, as it was when the exam was opened here
 * @property {Record<string, string>} how circumstances of the next readings, kept until changed
 */

/**
 * @typedef {object} State
 * @property {string} screen
 * @property {string | null} stopped why nothing can be recorded here
 * @property {Session | null} session
 * @property {Settings} settings
 * @property {import('./types').Practice | null} practice
 * @property {import('./types').SyncState} sync
 * @property {'starting' | 'ready' | 'failed'} engine
 * @property {string} engineWords
 * @property {import('./types').Versions | null} versions of the running engine
 * @property {boolean} updateReady
 * @property {boolean} offlineReady
 * @property {boolean | null} promised whether the browser promised to keep the storage; null before it answered
 * @property {string | null} trouble
 * @property {any} list
 * @property {any} form
 * @property {any} resume
 * @property {{at: string, branch: string} | null} clone a copy of this phone was noticed
 * @property {{at: string, days: number, exams: number, entries: number}[]} left what left this phone, newest first
 * @property {{at: string, entries: number, practice: string} | null} cleared this phone was revoked and cleared itself
 * @property {import('./second.js').TakenBack | null} takenBack the browser threw the storage away, and this came back from the second copy
 * @property {boolean} noCopy no second copy of what waits can be kept
 */

/** @type {State} */
export const state = {
  screen: 'starting',
  stopped: null,
  session: null,
  settings: { author: null, authorName: null, behalf: null, machineUnit: 'mm', machineRows: null, selfKeep: true, hand: 'right', help: 'once', helped: [], theme: 'dim', weightUnit: 'kg', listOrder: 'mine' },
  practice: null,
  sync: {
    phase: 'idle', reason: '', code: '', asked: false, own: 0, pending: 0, oldest: null, receipt: null, batch: 0, batches: 0, held: 0, connected: false, revoked: false, coming: false, photos: 0, photoTrouble: '',
  },
  engine: 'starting',
  engineWords: '',
  versions: null,
  updateReady: false,
  offlineReady: false,
  promised: null,
  trouble: null,
  list: null,
  form: null,
  resume: null,
  clone: null,
  left: [],
  cleared: null,
  takenBack: null,
  noCopy: false,
};

/** @type {() => void} */
let draw = () => undefined;
let waiting = false;

/** @param {() => void} drawer */
export function onChange(drawer) {
  draw = drawer;
}

/** @param {Partial<State>} [patch] */
export function update(patch) {
  if (patch) Object.assign(state, patch);
  if (waiting) return;
  waiting = true;
  queueMicrotask(() => {
    waiting = false;
    draw();
  });
}

/** Change the exam on the screen. @param {Partial<Session>} patch */
export function updateSession(patch) {
  if (state.session) Object.assign(state.session, patch);
  // What opened over the keys lies between two numbers: the next one is its own, and no digit of the last comes back.
  if (patch.panel && state.session?.lastAct) state.session.lastAct.itself = null;
  update();
}

/** Who writes, for the entry header. @returns {{author: string, behalf: string | null}} */
export function people() {
  return { author: state.settings.author || 'unknown', behalf: state.settings.behalf };
}

/** Order and short words of whoever scans, as the desk keeps them. @returns {{order: string[], phrases: Record<string, string>}} */
export function ownWays() {
  return state.practice?.ways?.[state.settings.author || ''] || { order: [], phrases: {} };
}

/** Say something in words to assistive technology. @param {string} words */
export function say(words) {
  const place = document.getElementById('status');
  if (place) place.textContent = words;
}
