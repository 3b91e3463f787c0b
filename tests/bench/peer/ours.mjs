/** The phone's own journal and push, without its screens, for the bench beside a peer (tests/bench/beside.py). */
import { append, counts } from '../../../static/app/journal.js';
import { askReceipt, pushAll } from '../../../static/app/push.js';

const until = (from) => performance.now() - from;

globalThis.bench = {
  /** Write drafts as one exam after the other, as at a table but without the pauses. */
  async write(exams) {
    const from = performance.now();
    for (const drafts of exams) await append(drafts);
    return until(from);
  },
  /** What the app does as it starts: the shelf is filled. */
  async wake() {
    await counts();
  },
  /** One round of sending, with the count that the app shows on its chip meanwhile (static/app/sync.js). */
  async sync(token) {
    const from = performance.now();
    let batches = 0;
    let counted = -Infinity;
    const receiptCame = async () => {
      if (performance.now() - counted < 400) return;
      counted = performance.now();
      await counts();
    };
    try {
      await pushAll(token, () => { batches += 1; }, receiptCame);
      await counts();
    } catch (error) {
      return { ms: until(from), batches, failed: String(error.message || error) };
    }
    return { ms: until(from), batches, failed: null };
  },
  /** Nothing waits: ask what the practice holds. */
  async nothing(token) {
    const from = performance.now();
    const receipt = await askReceipt(token);
    return { ms: until(from), held: receipt.held };
  },
  counts,
};
document.body.dataset.ready = 'yes';
