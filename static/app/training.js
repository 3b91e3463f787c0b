/**
 * Training: an invented animal to try everything on. Its entries say so in their opening: the practice keeps them as it
 * keeps all entries, lists them nowhere, and learns nothing from them; every screen of it says so, too.
 */
import { html, nothing } from 'lit-html';
import { openNew } from './exam.js';
import { state, update } from './state.js';

const ANIMALS = {
  dog: { name: 'Training dog', species: 'dog', sex: 'female', neutered: true, age_months: 96, weight_kg: '8.4', weight_source: 'estimate', body_condition: 5 },
  cat: { name: 'Training cat', species: 'cat', sex: 'male', neutered: true, age_months: 120, weight_kg: '4.3', weight_source: 'estimate', body_condition: 5 },
};

/** @param {'dog' | 'cat'} species */
export function train(species) {
  if (!state.settings.author) {
    update({ screen: 'settings', form: { back: 'list', whoFirst: true } });
    return Promise.resolve(false);
  }
  const question = { text: 'Training: drinks a lot, are the adrenal glands large?', structures: ['adrenal.left', 'adrenal.right'] };
  return openNew({ patientId: null, visit: null, patient: ANIMALS[species], question, context: {}, purpose: 'training' });
}

/** On every screen while a training exam is open: words and a hatched edge, not colour alone. */
export function trainingBand() {
  return state.session?.view.training ? html`<p class="training" role="status"><b>TRAINING</b> this is no animal</p>` : nothing;
}
