/**
 * Where words come from besides the keyboard: one small interface, so that the line never knows which it is.
 *
 * The operating system's dictation needs nothing from us: it writes into the plain text field. The browser's speech
 * interface sends audio out of the practice in most browsers, so it is there only where the practice allows it.
 */
import { state } from './state.js';

/**
 * @typedef {object} Listener
 * @property {(words: string) => void} words all that was heard so far
 * @property {() => void} ended
 * @property {(why: string) => void} failed one sentence for the person
 */

/** @typedef {{name: string, start: (listener: Listener) => {stop: () => void}}} Provider */

/** @returns {Provider | null} what may listen here, or null: then the keyboard's own dictation is all there is */
export function provider() {
  const Recognition = /** @type {any} */ (globalThis).SpeechRecognition || /** @type {any} */ (globalThis).webkitSpeechRecognition;
  if (!Recognition || state.practice?.speech !== 'browser') return null;
  return { name: 'browser', start: (listener) => listen(new Recognition(), listener) };
}

/** @param {any} recognition the browser's @param {Listener} listener */
function listen(recognition, listener) {
  recognition.lang = 'en-GB';
  recognition.continuous = true;
  recognition.interimResults = false;
  recognition.onresult = (/** @type {any} */ event) =>
    listener.words(Array.from(event.results, (/** @type {any} */ result) => result[0].transcript.trim()).join(', '));
  recognition.onerror = (/** @type {any} */ event) => listener.failed(`Listening stopped (${event.error}): type it, or use the keyboard's dictation.`);
  recognition.onend = () => listener.ended();
  recognition.start();
  return { stop: () => recognition.stop() };
}
