// Beginning a plan: what it would be stands beside the form while it is filled in.
import { ask } from './ask.js';
import { fragment } from './safe.js';

const form = document.getElementById('begin'), piece = document.getElementById('piece');
const told = answer => [answer.what, answer.next].filter(Boolean).join('; ').replaceAll('`', '')
  || 'The notebook gave no answer.';

function wanted() {
  const data = new FormData(form), shops = {};
  for (const [key, value] of data) if (key.startsWith('shop-') && value) shops[key.slice(5)] = value;
  const words = Object.fromEntries(['title', 'film', 'width', 'edition', 'proofs', 'units', 'currency',
    'start', 'off'].map(key => [key, data.get(key) ?? '']));
  return { ...words, stages: data.getAll('stage'), shops };
}

// At most one question under way; the latest follows it.
let asked = false, again = false;
async function look() {
  if (asked) { again = true; return; }
  asked = true;
  const answer = await ask('/begin/draft', { json: wanted() });
  asked = false;
  show(answer);
  if (again) { again = false; look(); }
}

function show(answer) {
  const alert = document.getElementById('alert');
  alert.textContent = answer.ok ? '' : told(answer);
  if (!answer.ok) return;
  const parts = [];
  if (answer.drawing) {
    const figure = document.createElement('figure');
    figure.append(fragment(answer.drawing));
    parts.push(figure);
  }
  const list = document.createElement('dl');
  for (const { label, value } of answer.facts) {
    const [name, words] = ['dt', 'dd'].map(tag => document.createElement(tag));
    name.textContent = label; words.textContent = value; list.append(name, words);
  }
  parts.push(list);
  for (const [kind, all] of [['problem', answer.broken], ['caution', answer.cautions]])
    for (const words of all) {
      const line = document.createElement('p');
      line.className = kind; line.textContent = words;
      parts.push(line);
    }
  piece.replaceChildren(...parts);
}

form.addEventListener('input', look);
look();

// The width follows the units until it was filled in by hand.
form.elements.width.addEventListener('input', () => form.elements.width.dataset.own = '');
form.elements.units.addEventListener('change', () => {
  const { units, width } = form.elements;
  if (!('own' in width.dataset)) width.value = units.value === 'metric' ? '1800 mm' : '72 in';
  look();
});

async function send(json, alert) {
  const answer = await ask('/begin', { json });
  if (answer.ok && answer.location) location.assign(answer.location);
  else document.getElementById(alert).textContent = told(answer);
}
form.addEventListener('submit', e => { e.preventDefault(); send(wanted(), 'alert'); });
const copy = document.getElementById('copy-plan');
copy?.addEventListener('submit', e => {
  e.preventDefault();
  send({ title: copy.elements.title.value.trim(), from: copy.elements.from.value }, 'copy-alert');
});

document.getElementById('bring').addEventListener('click', async e => {
  const file = document.getElementById('archive').files[0], alert = document.getElementById('bring-alert');
  if (!file) { alert.textContent = 'Choose an archive first.'; return; }
  e.target.disabled = true; alert.textContent = '';
  const answer = await ask('/import', { text: file, type: 'application/zip' });
  e.target.disabled = false;
  if (answer.ok && answer.location && !answer.left?.length) { location.assign(answer.location); return; }
  alert.textContent = answer.ok
    ? `The plan is here as ${answer.location.replace('/plan/', '')}. ${answer.left.join('; ')}.`
    : [answer.what, answer.next].filter(Boolean).join('; ');
});
