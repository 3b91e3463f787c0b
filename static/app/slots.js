/** Slots and strikes, as the core reads them: which entries count, and which of a slot nobody has replaced. Pure functions. */

/** @typedef {import('./types').Entry} Entry */

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
 * What the given entries had seen, and what that had seen: through struck entries too, as the core does it.
 * @param {Entry[]} own effective ones @param {Map<string, Entry>} byId all of the exam @returns {Set<string>}
 */
export function superseded(own, byId) {
  const seen = new Set();
  const waiting = own.flatMap((entry) => entry.after);
  for (let id = waiting.pop(); id !== undefined; id = waiting.pop()) {
    if (seen.has(id)) continue;
    seen.add(id);
    waiting.push(...(byId.get(id)?.after || []));
  }
  return seen;
}

/** @param {Entry[]} entries @returns {Map<string, Entry>} */
export function indexOf(entries) {
  return new Map(entries.map((entry) => [entry.id, entry]));
}

/**
 * The effective entries of a slot that no other effective entry of it had seen: what a new one follows.
 * @param {Entry[]} entries @param {string} slot
 */
export function heads(entries, slot) {
  const counts = effectiveness(entries);
  const own = entries.filter((entry) => slotOf(entry) === slot && counts(entry.id));
  const gone = superseded(own, indexOf(entries));
  return own.filter((entry) => !gone.has(entry.id));
}
