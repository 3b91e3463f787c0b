/**
 * By which of the practice's limits this phone judges: an exam in hand keeps those it was begun under, a kill and a new
 * start included, and the practice's newer ones come into force when it is left.
 */
import { getDraft, getMeta, setMeta } from './db.js';
import { examInHand } from './in-hand.js';
import { state } from './state.js';
import { isReadable } from './vault.js';

/** @typedef {{overlay: any, spelling: string}} Limits */

const IN_USE = 'limits_in_use';

/** Those that the practice told last. @returns {Limits} */
export function told() {
  const { overlay = null, spelling = 'british' } = state.practice || {};
  return { overlay: overlay || null, spelling };
}

/** Whether others may come into force now. A locked phone does not know yet what it has in hand. */
export function mayChange() {
  return !state.session && !examInHand() && isReadable();
}

/** At the start of the page. @returns {Promise<Limits>} */
export async function atStart() {
  const [position, before] = await Promise.all([getDraft('position'), getMeta(IN_USE)]);
  const limits = (position && before) || told();
  if (JSON.stringify(limits) !== JSON.stringify(before)) await keep(limits);
  return limits;
}

/** These judge from now on. @param {Limits} limits */
export async function keep(limits) {
  await setMeta(IN_USE, limits);
}
