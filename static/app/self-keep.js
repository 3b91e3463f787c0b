/** A length that keeps itself at its last digit, and the digit too many that may follow it. */
import { isWhole, mayHoldStray } from './number.js';
import { state } from './state.js';
import { quantityOf } from './tables.js';

/**
 * Typed to 0.1 mm, nothing is to come. Only where the usual size is known: there a slip of ten is asked about before it is
 * kept. What was taken back waits for the key, as long as a digit of it stands, and when it is typed once more: whoever does that
 * has more digits to come. So does what may begin with a digit of the number before. Any other number is a new one: a hand that
 * goes on with its eyes on the machine would believe it kept.
 * @param {import('./state').Session} session
 */
export function keepsItself(session) {
  const quantity = session.row ? quantityOf(session.row) : null;
  const { selfKeep, machineUnit } = state.settings;
  const { species } = session.view.patient;
  const known = quantity?.unit === 'mm' && species && quantity.usual?.[species];
  const again = session.byKey || session.typed === session.takenBack;
  return Boolean(selfKeep && known && !again && isWhole(session.typed, machineUnit) && !stray(session));
}

/** @param {import('./state').Session} session */
function stray(session) {
  const before = session.lastAct?.itself;
  const quantity = session.row ? quantityOf(session.row) : null;
  if (!before || !quantity) return false;
  return mayHoldStray(session.typed, before.typed, state.settings.machineUnit, quantity, session.view.patient.species);
}

/**
 * A machine that shows more digits, or a finger that went on: never kept as a reading without a word. What is asked about the
 * value itself is asked with it: one answer settles both.
 * @param {import('./state').Session} session @param {ReturnType<typeof import('./number.js').question>} asking
 */
export function withStray(session, asking) {
  if (!stray(session)) return asking;
  const before = session.lastAct?.itself?.typed;
  const words = `${before} kept itself just before: is this its next digit?`;
  return { message: `${asking ? asking.message : `${session.typed}, a reading of its own?`} ${words}`, offers: asking ? asking.offers : [] };
}
