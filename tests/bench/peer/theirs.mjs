/** PouchDB over IndexedDB, for the bench beside a peer (tests/bench/beside.py). */
const until = (from) => performance.now() - from;
const options = Object.fromEntries(new URLSearchParams(location.search));
const local = new PouchDB('exams', { adapter: options.adapter, auto_compaction: false });
const remote = new PouchDB(`${location.origin}/db/exams`);

globalThis.bench = {
  async write(exams) {
    const from = performance.now();
    for (const docs of exams) {
      const answers = await local.bulkDocs(docs);
      const failed = answers.find((one) => one.error);
      if (failed) throw failed;
    }
    return until(from);
  },
  async wake() {
    await local.info();
    await remote.info();
  },
  async sync(batch_size) {
    const from = performance.now();
    try {
      const answer = await local.replicate.to(remote, batch_size ? { batch_size } : {});
      return { ms: until(from), written: answer.docs_written, failed: answer.ok ? null : 'not ok' };
    } catch (error) {
      return { ms: until(from), failed: String(error.message || error) };
    }
  },
  async held() {
    return (await remote.info()).doc_count;
  },
};
document.body.dataset.ready = 'yes';
