/** Makes entries as the phone does, a line of JSON in, a line of JSON out: {drafts, last, at} or {canonical: value}. */
import { createInterface } from 'node:readline';
import { canonical, open, seal } from '../../static/app/entry.js';

async function made({ drafts, last, at }) {
  const envelopes = [];
  let end = last;
  for (const draft of drafts) {
    const { envelope, entry } = await seal(draft, end, at);
    const again = await open(envelope);
    envelopes.push({ ...envelope, id: entry.id, damaged: again.damaged, same: canonical(again.entry) === canonical(entry) });
    end = { device: last.device, seq: entry.seq, prev: entry.id };
  }
  return envelopes;
}

function refusable(value) {
  try {
    return { text: canonical(value) };
  } catch (error) {
    if (!(error instanceof TypeError)) throw error;
    return { refused: true };
  }
}

for await (const line of createInterface({ input: process.stdin })) {
  const asked = JSON.parse(line);
  const answer = 'canonical' in asked ? refusable(asked.canonical) : await made(asked);
  process.stdout.write(`${JSON.stringify(answer)}\n`);
}
