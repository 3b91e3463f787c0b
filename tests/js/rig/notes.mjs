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

/** @param {IDBFactory} disk @returns {Promise<any>} an open connection, or null where nothing was ever written */
function opened(disk) {
  return new Promise((resolve, reject) => {
    const asked = disk.open('gelside');
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

const done = (asked) => new Promise((resolve, reject) => {
  asked.onsuccess = () => resolve(asked.result);
  asked.onerror = () => reject(asked.error);
});

/** A disk read past the app: entries and ids that wait as lists, meta by key. @param {IDBFactory} disk @returns {Promise<{entries: any[], waiting: string[], meta: Map<string, any>}>} */
export async function allRows(disk) {
  const db = await opened(disk);
  const tx = db.transaction(['entries', 'waiting', 'meta']);
  const [entries, waiting, keys, values] = await Promise.all([
    tx.objectStore('entries').getAll(), tx.objectStore('waiting').getAll(), tx.objectStore('meta').getAllKeys(), tx.objectStore('meta').getAll(),
  ].map(done));
  db.close();
  return { entries, waiting, meta: new Map(keys.map((key, place) => [key, values[place]])) };
}

/** All that lies on a disk, put on another phone's: a backup restored to a second device. @param {IDBFactory} from @param {any} phone */
export async function copied(from, phone) {
  const life = phone.start(async () => { throw new TypeError('no network'); });
  await life.app.counts();
  life.kill();
  const [source, target] = [await opened(from), await opened(phone.disk)];
  for (const name of source.objectStoreNames) {
    const read = source.transaction(name).objectStore(name);
    const [keys, values] = await Promise.all([read.getAllKeys(), read.getAll()].map(done));
    const tx = target.transaction(name, 'readwrite');
    const store = tx.objectStore(name);
    store.clear();
    for (const [place, value] of values.entries()) store.put(value, ...(store.keyPath === null ? [keys[place]] : []));
    await new Promise((resolve) => { tx.oncomplete = resolve; });
  }
  source.close();
  target.close();
}
