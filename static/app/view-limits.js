/**
 * The limits register on the phone, offline: every row with its source, as the rule engine words it.
 * Plain DOM, given a container and the register; it reads and writes no state. Filters act at once.
 */

/**
 * @typedef {{id: string, quantity: string, unit_id: string, species: string[], animals: string, lower: string,
 *   upper: string, bounds: string, unit: string, values: string, statistic: string, n: string, population: string, plane: string,
 *   use_words: string, judges: boolean, off: boolean, own: boolean, known: string, source: string, note: string,
 *   differ: number[]}} LimitRow
 * @typedef {{source: string, short: string, citation: string, rows: number, judging: number, off: number}} LimitSet
 * @typedef {{id: string, rule: string, source: string, fixed: boolean, values: {path: string, label: string, value: string}[]}} Threshold
 * @typedef {{version: string, rows: LimitRow[], sets: LimitSet[], thresholds: Threshold[],
 *   grades: {grades: {words: string, grade_words: string, why: string}[], tell: {words: string, grade_words: string, why: string}[]},
 *   differ: {species: string, words: string}[], units: {id: string, label: string}[]}} Register
 */

const MOST = 60;
const SPECIES = /** @type {Record<string, string>} */ ({ dog: 'dogs', cat: 'cats' });

/** @param {HTMLElement} container its children are replaced @param {Register} register the engine's answer to "register" */
export function showLimits(container, register) {
  const found = make('div', 'limit-rows');
  const count = make('p', 'small');
  count.setAttribute('role', 'status');
  const structure = choice('structure', [['', 'all structures'], ...register.units.map((unit) => /** @type {[string, string]} */ ([unit.id, unit.label]))]);
  const species = choice('species', [['', 'dogs and cats'], ['dog', 'dogs'], ['cat', 'cats']]);
  const words = /** @type {HTMLInputElement} */ (make('input', 'text'));
  words.type = 'search';
  words.setAttribute('aria-label', 'words');
  words.placeholder = 'author, breed, use, note';
  let most = MOST;
  const cited = new Map(register.sets.map((set) => [set.source, set]));
  const searched = new Map(register.rows.map((row) => [row.id, searchText(row, cited)]));
  const draw = () => {
    const asked = folded(words.value).split(/\s+/).filter(Boolean);
    const rows = register.rows.filter((row) => (!structure.value || row.unit_id === structure.value)
      && (!species.value || row.species.includes(species.value))
      && asked.every((word) => searched.get(row.id)?.includes(word)));
    count.textContent = `${rows.length} of ${register.rows.length} rows`;
    found.replaceChildren(...groups(rows.slice(0, most), register, cited));
    if (rows.length > most) found.append(button(`show ${Math.min(MOST, rows.length - most)} more`, () => { most += MOST; draw(); }));
  };
  for (const field of [structure, species]) field.addEventListener('change', () => { most = MOST; draw(); });
  words.addEventListener('input', () => { most = MOST; draw(); });
  container.replaceChildren(
    text('p', `${register.version}. Only rows of the use "limit" and "alert" judge; cut-offs, values seen and unverified rows stand beside a value.`, 'small'),
    structure, species, words, count, found, grades(register), thresholds(register), sets(register),
  );
  draw();
}

/** @param {LimitRow[]} rows @param {Register} register @param {Map<string, LimitSet>} cited */
function groups(rows, register, cited) {
  /** @type {Map<string, HTMLElement>} */
  const made = new Map();
  for (const row of rows) {
    let group = made.get(row.quantity);
    if (!group) {
      group = make('section', 'limit-group');
      group.append(text('h2', row.quantity));
      const same = rows.filter((other) => other.quantity === row.quantity);
      // LEFT and RIGHT may differ in the same words: told once.
      const told = new Set(same.flatMap((other) => other.differ).map((place) => `${SPECIES[register.differ[place].species]}: ${register.differ[place].words}`));
      for (const words of told) group.append(text('p', words, 'limit-differ'));
      made.set(row.quantity, group);
    }
    group.append(line(row, cited.get(row.source)));
  }
  return [...made.values()];
}

/** One row: its animals, bounds and use; on a tap all else. @param {LimitRow} row @param {LimitSet | undefined} set */
function line(row, set) {
  const details = make('details', row.off ? 'limit-row limit-off' : 'limit-row');
  const summary = make('summary');
  const values = row.values && row.unit ? `${row.values} ${row.unit}` : row.values;
  summary.append(text('span', row.animals, 'limit-animals'), text('b', row.bounds || values || 'no bound'), text('span', row.use_words, row.judges ? 'limit-judges' : 'limit-use'));
  details.append(summary);
  /** @type {[string, string][]} */
  const facts = [
    ['values', values], ['number of animals', row.n], ['animals it is from', row.population], ['plane', row.plane],
    ['what the figure is', row.statistic], ['how known', row.known], ['source', set ? set.citation : row.source], ['note', row.note], ['row', row.id],
  ];
  details.append(list(facts));
  return details;
}

/** How loud each kind of line is, and which findings someone is told: changed at the desk, by a vet. @param {Register} register */
function grades(register) {
  const part = fold('Grades and whom to tell', 'How loud a line is. The text always stands; whatever became quieter says why.');
  const told = (/** @type {{words: string, grade_words: string, why: string}} */ one) => /** @type {[string, string]} */ ([one.words, one.why ? `${one.grade_words} (${one.why})` : one.grade_words]);
  part.append(text('h3', 'kinds of lines'), list(register.grades.grades.map(told)), text('h3', 'findings, the first that fits'), list(register.grades.tell.map(told)));
  return part;
}

/** @param {Register} register */
function thresholds(register) {
  const part = fold('Thresholds of ours', 'Choices of this program or of the practice, not published figures.');
  for (const one of register.thresholds) {
    const numbers = one.values.map((value) => /** @type {[string, string]} */ ([value.label, value.value]));
    part.append(text('h3', one.id.replace(/_/g, ' ')), text('p', one.rule), list(numbers));
    if (one.source) part.append(text('p', one.source, 'small'));
  }
  return part;
}

/** @param {Register} register */
function sets(register) {
  const part = fold('Sets by source', 'All that came from one source. They are switched at the desk.');
  for (const set of register.sets) {
    const off = set.off ? `, ${set.off} switched off` : '';
    part.append(text('p', set.citation), text('p', `${set.rows} rows, ${set.judging} judge${off}`, 'small'));
  }
  return part;
}

/** @param {string} title @param {string} words */
function fold(title, words) {
  const part = make('details', 'fold');
  part.append(text('summary', title), text('p', words, 'small'));
  return part;
}

/** @param {[string, string][]} facts */
function list(facts) {
  const made = make('dl', 'limit-facts');
  for (const [name, value] of facts) if (value) made.append(text('dt', name), text('dd', value));
  return made;
}

/** @param {LimitRow} row @param {Map<string, LimitSet>} cited */
function searchText(row, cited) {
  const words = [row.quantity, row.animals, row.lower, row.upper, row.values, row.statistic, row.population, row.plane, row.use_words, row.known, row.note, row.id];
  return folded([...words, cited.get(row.source)?.citation || ''].join(' '));
}

/** @param {string} words */
function folded(words) {
  return words.toLowerCase().replace(/\u2019/g, "'");
}

/** @param {string} name @param {[string, string][]} options */
function choice(name, options) {
  const select = /** @type {HTMLSelectElement} */ (make('select', 'text'));
  select.setAttribute('aria-label', name);
  for (const [value, words] of options) {
    const option = /** @type {HTMLOptionElement} */ (text('option', words));
    option.value = value;
    select.append(option);
  }
  return select;
}

/** @param {string} words @param {() => void} act */
function button(words, act) {
  const made = text('button', words, 'answer wide');
  made.addEventListener('click', act);
  return made;
}

/** @param {string} tag @param {string} [name] */
function make(tag, name) {
  const element = document.createElement(tag);
  if (name) element.className = name;
  return element;
}

/** @param {string} tag @param {string} words @param {string} [name] */
function text(tag, words, name) {
  const element = make(tag, name);
  element.textContent = words;
  return element;
}
