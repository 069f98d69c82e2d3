// Recording what happened to a print: one sentence whose blanks follow from what happened.
import { ask, inTurn } from './ask.js';
import { page } from './safe.js';

const main = document.getElementById('main'), form = document.getElementById('entry');
const alert = document.getElementById('alert'), said = document.getElementById('said');

function fit() {
  const asks = form.what.selectedOptions[0].dataset.asks;
  document.getElementById('party').textContent = { why: 'because' }[asks.split(' ')[0]] ?? asks.split(' ')[0];
  document.getElementById('price').hidden = !asks.includes('price');
}
form.when.value ||= main.dataset.day;
form.what.addEventListener('change', fit); fit();

form.addEventListener('submit', async e => {
  e.preventDefault();
  alert.textContent = said.textContent = '';
  const json = { number: form.number.value, what: form.what.value, when: form.when.value,
    words: form.words.value.trim(), amount: document.getElementById('price').hidden ? '' : form.amount.value.trim(),
    place: form.place.value.trim() };
  const answer = await inTurn(() => ask(`${main.dataset.base}/ledger`, { json }));
  if (!answer.ok) { alert.textContent = [answer.what, answer.next].filter(Boolean).join('; '); return; }
  const fresh = await ask(location.pathname, { method: 'GET' });
  if (fresh.ok && fresh.text) {
    const next = page(fresh.text);
    main.dataset.day = next.getElementById('main').dataset.day;
    for (const part of ['.block', '#prints', '.edition.proofs', '#lines']) {
      const old = main.querySelector(part), now = next.querySelector(part);
      if (old && now) old.replaceWith(document.adoptNode(now));
    }
  }
  form.words.value = form.amount.value = form.place.value = '';
  said.textContent = `Print ${json.number} is in the ledger: ${json.what}.`;
});
