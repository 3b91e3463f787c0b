/** The pure part of pairing: what a person types and compares. */
import { sha256 } from './entry.js';

/** A typed code as it was made: upper case, no gaps, O is 0, I and L are 1. @param {string} typed */
export function normalisedCode(typed) {
  return typed.toUpperCase().replace(/[\s-]/g, '').replace(/O/g, '0').replace(/[IL]/g, '1');
}

/** Six digits that phone and desk make on their own. @param {string} proof @param {string} device */
export async function comparisonNumber(proof, device) {
  const hash = await sha256(`gelside-pair${proof}${device}`);
  return String(parseInt(hash.slice(0, 10), 16) % 1000000).padStart(6, '0');
}
