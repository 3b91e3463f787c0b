/** Days and moments as people write them; anything else as it stands. */

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** "2026-11-16" as "16 Nov", with the year when it is not this one. @param {string | null | undefined} text @param {number} [thisYear] */
export function dayWords(text, thisYear = new Date().getFullYear()) {
  const found = /^([0-9]{4})-([0-9]{2})-([0-9]{2})/.exec(text || '');
  const name = found ? MONTHS[Number(found[2]) - 1] : undefined;
  if (!found || !name) return String(text || '');
  const day = `${Number(found[3])} ${name}`;
  return Number(found[1]) === thisYear ? day : `${day} ${found[1]}`;
}

/** The days within words of the desk, as people write them ("scales on 16 Nov"). @param {string} text @param {number} [thisYear] */
export function datesIn(text, thisYear) {
  return text.replace(/[0-9]{4}-[0-9]{2}-[0-9]{2}/g, (day) => dayWords(day, thisYear));
}

/** "2026-11-24T10:41..." as "24 Nov, 10:41", by the clock that wrote it. @param {string} text */
export function momentWords(text) {
  return /T[0-9]{2}:[0-9]{2}/.test(text) ? `${dayWords(text)}, ${text.slice(11, 16)}` : dayWords(text);
}
