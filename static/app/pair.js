/** Connecting this phone: a secret from the QR code or a typed code, a number to compare, the token once. */
import { comparisonNumber, normalisedCode } from './codes.js';
import { deviceState } from './journal.js';
import { state, update } from './state.js';
import { keepToken } from './token.js';
import { PROTOCOL, WireProblem, request } from './wire.js';

const POLL_MS = 2000;
/** The try that counts; an earlier one that still waits for an answer has nothing more to say. @type {object | null} */
let current = null;

/**
 * @param {{secret?: string, code?: string}} proof @param {string} name of this phone
 * @param {(answer: any) => Promise<void>} onConnected
 */
export async function pair(proof, name, onConnected) {
  const mine = {};
  current = mine;
  try {
    const { device } = await deviceState();
    const number = await comparisonNumber(proof.secret || normalisedCode(proof.code || ''), device);
    const made = await request('/api/pair', null, { protocol: PROTOCOL, device, name, app: GELSIDE_VERSION, ...proof });
    if (!made || typeof made.pairing !== 'string' || typeof made.poll !== 'string') {
      throw new WireProblem('strange', 'The answer could not be read: try again.');
    }
    if (!goesOn(mine)) return;
    update({ form: { ...state.form, number, words: '', busy: false } });
    await wait(made, mine, onConnected);
  } catch (error) {
    if (!(error instanceof WireProblem)) throw error;
    if (!goesOn(mine)) return;
    const words = error.what === 'refused' ? 'This code is not known, was used or is over: take a new one at the desk.' : error.message;
    update({ form: { ...state.form, number: null, words, busy: false } });
  }
}

/** The person is still on the page of this try. @param {object} mine */
function goesOn(mine) {
  return current === mine && state.screen === 'pair';
}

/** Ask until the desk has answered; an interruption of the network only delays. @param {any} made @param {object} mine @param {(answer: any) => Promise<void>} onConnected */
async function wait(made, mine, onConnected) {
  while (goesOn(mine)) {
    const answer = await ask(made);
    if (!goesOn(mine)) return;
    if (answer?.state === 'confirmed' && typeof answer.token === 'string') {
      await connected(answer);
      await onConnected(answer);
      return;
    }
    if (answer?.state === 'refused') throw new WireProblem('refused', '');
    if (answer?.state === 'expired') throw new WireProblem('refused', '');
    await new Promise((resolve) => setTimeout(resolve, POLL_MS));
  }
}

/** @param {any} made */
async function ask(made) {
  try {
    return await request(`/api/pair/${encodeURIComponent(made.pairing)}`, null, undefined, { 'X-Pairing-Poll': made.poll });
  } catch (error) {
    if (error instanceof WireProblem && error.what !== 'refused') return null;
    throw error;
  }
}

/** @param {any} answer */
async function connected(answer) {
  const before = state.practice;
  const practice = {
    people: [], ...(before && before.store_id === answer.store_id ? before : {}),
    practice: answer.practice, phone: answer.phone, store_id: answer.store_id, lock: answer.lock, server_key: answer.server_key,
  };
  await keepToken(answer.token, { practice, pull: null, revoked: null });
  update({ practice });
}
