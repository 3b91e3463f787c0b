/** Entries for a phone of the rig, and what became of them. */
import assert from 'node:assert/strict';

/** @param {number} number @param {string} [text] */
export function note(number, text = `note ${number}`) {
  return { exam: 'exam-1', patient: 'patient-1', author: 'VS', behalf: null, kind: 'noted', after: [], of: [], body: { about: 'liver', text } };
}

/** Write so many notes, and link the phone with its practice. @param {any} phone @param {number} many @param {string} [text] @returns {Promise<string[]>} their ids */
export async function written(phone, many, text) {
  const life = phone.start(async () => { throw new TypeError('no network'); });
  await life.app.setMeta('token', 't');
  const entries = many ? await life.app.append(Array.from({ length: many }, (_, number) => note(number, text))) : [];
  life.kill();
  return entries.map((entry) => entry.id);
}

/** Start the app as the page does. @param {any} phone @param {any} way @param {any} [how] */
export async function started(phone, way, how) {
  const life = phone.start((path, options) => way.go(path, options), how);
  try {
    await life.app.refreshCounts();
    life.app.startSync(() => undefined);
    await life.pass(0);
  } catch (error) {
    if (life.alive) throw error;
  }
  return life;
}

/** Every row of the phone's disk. @param {any} life */
export async function rowsOf(life) {
  return life.app.transaction(['entries', 'waiting'], 'readonly', async (tx) => {
    const waiting = new Set(await tx.objectStore('waiting').getAll());
    return (await tx.objectStore('entries').getAll()).map((row) => ({ ...row, pending: waiting.has(row.id) }));
  });
}

/** The practice holds exactly these entries of the phone, in its order, each once; the phone knows it. @param {any} life @param {any} practice @param {string[]} ids @param {string} words */
export async function allArrivedOnce(life, practice, ids, words) {
  const rows = (await rowsOf(life)).filter((row) => row.own).sort((a, b) => a.seq - b.seq);
  assert.deepEqual(rows.map((row) => row.id), ids, `${words}: the phone has all it wrote`);
  assert.deepEqual(rows.filter((row) => row.pending), [], `${words}: nothing waits`);
  const held = practice.of(rows[0].device);
  assert.deepEqual(held.map((entry) => entry.seq), ids.map((_, place) => place + 1), `${words}: each place once`);
  assert.deepEqual(held.map((entry) => [entry.header, entry.body]), rows.map((row) => [row.header, row.body]), `${words}: byte for byte`);
  const { receipt } = await life.app.counts();
  assert.deepEqual([receipt.store_id, receipt.held, receipt.through], [practice.store, ids.length, ids.length], `${words}: the receipt says so`);
}
