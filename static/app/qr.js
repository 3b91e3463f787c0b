/** The reader of codes, a file of its own: it is needed once in a phone's life and kept out of each start. */
export { default } from 'qr/decode.js';
