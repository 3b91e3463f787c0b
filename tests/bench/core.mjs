/**
 * Times the core in MicroPython (tests/bench/core.py starts it): standard input as tests/core_parity/run.mjs with
 * "sizes": [{"readings", "open": call text, "more": [call text ...]}]; standard output: [{"readings", "open", "judge", "more"}], ms.
 */
import { readFileSync } from 'node:fs';
import { openCore } from '../core_parity/core.mjs';

const JUDGE = `
from core import judgement
def judge():
    """The folded exam judged whole, nothing kept from before."""
    e = _engine
    return len(judgement.units(e.journal.exam(), e.earlier, e.tables, {}, e.learned))
`;
const asked = JSON.parse(readFileSync(0, 'utf8'));
const core = await openCore(asked, JUDGE);
const [call, judge] = ['call', 'judge'].map(core);

/** Milliseconds of this process's own time: other programs on the machine do not count. @param {() => void} work */
function timed(work) {
  const from = process.cpuUsage();
  work();
  const spent = process.cpuUsage(from);
  return (spent.user + spent.system) / 1000;
}

const result = asked.sizes.map((/** @type {any} */ size) => {
  const open = [], judged = [], more = [];
  for (let round = 0; round < asked.rounds; round += 1) {
    open.push(timed(() => call(size.open)));
    judged.push(timed(() => judge()));
    for (const text of size.more) more.push(timed(() => call(text)));
  }
  return { readings: size.readings, open, judge: judged, more };
});
process.stdout.write(JSON.stringify(result));
