// Beginning a plan: sends the title and opens what was made.
import { ask } from './ask.js';

const form = document.getElementById('begin');
form.addEventListener('submit', async e => {
  e.preventDefault();
  const from = form.elements.from?.value, title = form.elements.title.value.trim();
  const beginning = from?.startsWith('beginning:') ? from.slice(10) : '';
  const answer = await ask('/begin', { json: beginning ? { title, beginning } : from ? { title, from } : { title } });
  if (answer.ok && answer.location) location.assign(answer.location);
  else document.getElementById('alert').textContent = [answer.what, answer.next].filter(Boolean).join(' ')
    || 'The notebook gave no answer.';
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
