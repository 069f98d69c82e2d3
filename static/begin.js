// Beginning a plan: sends the title and opens what was made.
import { ask } from './ask.js';

const form = document.getElementById('begin');
form.addEventListener('submit', async e => {
  e.preventDefault();
  const from = form.elements.from?.value, title = form.elements.title.value.trim();
  const answer = await ask('/begin', { json: from ? { title, from } : { title } });
  if (answer.ok && answer.location) location.assign(answer.location);
  else document.getElementById('alert').textContent = [answer.what, answer.next].filter(Boolean).join(' ') || 'The notebook gave no answer.';
});
