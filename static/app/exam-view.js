/**
 * What was recorded, for the screen: a small fold that needs no engine, so that a tap shows at once.
 * It judges nothing; flags, open items and derived values come from the rule code alone.
 */

/** @typedef {import('./types').Entry} Entry */
/** @typedef {import('./types').ExamView} ExamView */

const CIRCUMSTANCES = ['plane', 'view', 'cut', 'acquired', 'recumbency', 'window', 'distance', 'depth_mm', 'rows', 'image'];

/** @param {Entry[]} entries @returns {(id: string) => boolean} whether no effective strike names the entry */
export function effectiveness(entries) {
  /** @type {Map<string, Entry[]>} */
  const strikes = new Map();
  for (const entry of entries) {
    if (entry.kind !== 'struck') continue;
    for (const id of entry.of) strikes.set(id, [...(strikes.get(id) || []), entry]);
  }
  /** @type {Map<string, boolean>} */
  const known = new Map();
  /** @param {string} id @returns {boolean} */
  const counts = (id) => {
    const before = known.get(id);
    if (before !== undefined) return before;
    const answer = !(strikes.get(id) || []).some((strike) => counts(strike.id));
    known.set(id, answer);
    return answer;
  };
  return counts;
}

/** The slot of an entry that has one. @param {Entry} entry @returns {string | null} */
export function slotOf(entry) {
  if (entry.kind === 'set') return String(entry.body.about);
  return entry.kind === 'seen' ? `seen:${entry.body.about}` : null;
}

/**
 * Ids of the effective entries of a slot that no other effective entry of it names: what a new one follows.
 * @param {Entry[]} entries @param {string} slot
 */
export function heads(entries, slot) {
  const counts = effectiveness(entries);
  const own = entries.filter((entry) => slotOf(entry) === slot && counts(entry.id));
  const named = new Set(own.flatMap((entry) => entry.after));
  return own.filter((entry) => !named.has(entry.id));
}

/** Order for showing: by device and its count; the device of the opening entry first. @param {Entry[]} entries */
export function inOrder(entries) {
  return [...entries].sort((a, b) => (a.device === b.device ? a.seq - b.seq : a.at < b.at ? -1 : a.at > b.at ? 1 : 0));
}

/** @param {Entry[]} all entries of one exam @returns {ExamView | null} null without an opening entry */
export function viewOf(all) {
  const entries = inOrder(all);
  const opened = entries.find((entry) => entry.kind === 'opened');
  if (!opened) return null;
  const counts = effectiveness(entries);
  const view = emptyView(opened, entries.length);
  for (const entry of entries) take(view, entry, counts(entry.id));
  takeSlots(view, entries, counts);
  return view;
}

/** @param {Entry} opened @param {number} count @returns {ExamView} */
function emptyView(opened, count) {
  const { body } = opened;
  const question = body.question || {};
  return {
    id: String(opened.exam),
    patientId: String(opened.patient),
    visit: body.visit || null,
    date: body.date,
    openedAt: opened.at,
    closed: false,
    signed: false,
    patient: { ...(body.patient || {}) },
    question: { text: question.text || '', structures: question.structures || [], answered: null },
    context: { ...(body.context || {}) },
    readings: [],
    states: {},
    findings: [],
    notes: [],
    fields: {},
    acknowledged: [],
    count,
  };
}

/** Additive entries. @param {ExamView} view @param {Entry} entry @param {boolean} counts */
function take(view, entry, counts) {
  const { id, body, at } = entry;
  if (entry.kind === 'read') view.readings.push(readingOf(entry, !counts));
  if (entry.kind === 'found') view.findings.push({ .../** @type {any} */ (body), id, structure: body.about, struck: !counts });
  if (entry.kind === 'noted') view.notes.push({ id, about: body.about, text: body.text, struck: !counts, at });
  if (!counts) return;
  if (entry.kind === 'closed') view.closed = true;
  if (entry.kind === 'signed') view.signed = true;
  if (entry.kind === 'acknowledged') view.acknowledged.push({ id, about: body.about, flag: body.flag, reason: body.reason, of: entry.of });
}

/** @param {Entry} entry @param {boolean} struck @returns {import('./types').Reading} */
function readingOf({ id, body, at }, struck) {
  return {
    id,
    quantity: body.about,
    value: body.value,
    unit: body.unit,
    typed: body.typed ?? body.value,
    typed_unit: body.typed_unit ?? body.unit,
    how: howOf(body),
    lesion: body.lesion ?? null,
    struck,
    at,
  };
}

/** The circumstances that a reading carries. @param {Record<string, any>} body @returns {Record<string, string>} */
function howOf(body) {
  return Object.fromEntries(CIRCUMSTANCES.filter((key) => body[key]).map((key) => [key, String(body[key])]));
}

/** Slots: the last head is shown; the engine reports a fork. @param {ExamView} view @param {Entry[]} entries @param {(id: string) => boolean} counts */
function takeSlots(view, entries, counts) {
  const own = entries.filter((entry) => slotOf(entry) && counts(entry.id));
  /** @type {Map<string, Set<string>>} */
  const named = new Map();
  for (const entry of own) {
    const slot = /** @type {string} */ (slotOf(entry));
    named.set(slot, new Set([...(named.get(slot) || []), ...entry.after]));
  }
  for (const entry of own) {
    const slot = /** @type {string} */ (slotOf(entry));
    if (!named.get(slot)?.has(entry.id)) apply(view, entry);
  }
}

/** @param {ExamView} view @param {Entry} entry */
function apply(view, entry) {
  const { id, at, body } = entry;
  if (entry.kind === 'seen') {
    view.states[body.about] = { id, about: body.about, seen: body.seen, why: body.why || [], normal: body.normal === true, at };
    return;
  }
  const [group, ...rest] = String(body.about).split('.');
  const name = rest.join('.');
  if (group === 'patient') /** @type {any} */ (view.patient)[name] = body.value;
  else if (group === 'context') view.context[name] = body.value;
  else if (group === 'question') /** @type {any} */ (view.question)[name] = body.value;
  else view.fields[body.about] = body.value;
}

/** The newest own act that undo takes back: an effective entry that is neither opening nor a taken-back strike. */
/** @param {Entry[]} entries @param {string} device @returns {Entry | null} */
export function lastAct(entries, device) {
  const counts = effectiveness(entries);
  const acts = entries.filter((entry) => entry.device === device && entry.kind !== 'opened' && counts(entry.id));
  const open = acts.filter((entry) => !(entry.kind === 'struck' && entry.body.why === 'undo'));
  return open.sort((a, b) => b.seq - a.seq)[0] || null;
}
