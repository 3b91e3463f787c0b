/**
 * The rule code as phones fetch it: the same files without docstrings and comment lines, a third lighter. Lines keep
 * their numbers, so a fault on a phone names the line of the source. tests/house/test_lean.py compares the programs.
 */

/** @param {string} source Python whose triple-quoted strings are all docstrings @returns {string} */
export function lean(source) {
  return source
    .replace(/^([ \t]*)"""[\s\S]*?"""[ \t]*$/gm, (text, indent) => `${indent}pass${'\n'.repeat(lines(text))}`)
    .replace(/^[ \t]*#.*$/gm, '');
}

/** @param {string} text */
function lines(text) {
  return text.split('\n').length - 1;
}
