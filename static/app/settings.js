/** Settings of this phone, kept in its storage: who scans, the machine's unit, the theme. */
import { getMeta, setMeta, storageWords } from './db.js';
import { state, update } from './state.js';
import { keepToken } from './token.js';

export async function loadSettings() {
  const [known, practice, clone, left, cleared, takenBack] = await Promise.all(['settings', 'practice', 'clone', 'left', 'cleared', 'taken_back'].map(getMeta));
  update({
    settings: { ...state.settings, ...(known || {}) }, practice: practice || null, clone: clone || null, left: left || [], cleared: cleared || null,
    takenBack: takenBack || null,
  });
  applyTheme();
}

/** @param {Partial<import('./types').Settings>} patch */
export async function saveSettings(patch) {
  update({ settings: { ...state.settings, ...patch } });
  applyTheme();
  try {
    await setMeta('settings', state.settings);
  } catch (error) {
    update({ trouble: storageWords(error) });
  }
}

function applyTheme() {
  const bright = state.settings.theme === 'bright';
  document.documentElement.className = `${bright ? 'bright' : 'dim'}${state.settings.hand === 'left' ? ' left-hand' : ''}`;
  document.querySelector('meta[name="theme-color"]')?.setAttribute('content', bright ? '#f4ede2' : '#17120e');
  document.querySelector('meta[name="color-scheme"]')?.setAttribute('content', bright ? 'light' : 'dark');
}

/** A pairing's secret in the address: "#pair=<secret>"; read once, then the address is cleaned. @returns {string | null} */
export function takeSecret() {
  const found = location.hash.match(/^#pair=([A-Za-z0-9_-]{16,100})$/);
  if (!found) return null;
  history.replaceState(null, '', location.pathname + location.search);
  return found[1];
}

/** The demo's link comes once in the address: "#phone=<token>"; it is kept here and the address cleaned. @returns {Promise<boolean>} */
export async function takeToken() {
  const found = location.hash.match(/^#phone=([A-Za-z0-9_.~-]{8,200})$/);
  if (!found) return false;
  await keepToken(found[1], { pull: null, revoked: null });
  history.replaceState(null, '', location.pathname + location.search);
  return true;
}
