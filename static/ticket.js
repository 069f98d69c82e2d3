// The ticket's page: draws the bars of its steps, prints, and writes down that it was handed over.
import { ask, inTurn } from './ask.js';
import { drawSteps } from './steps.js';

drawSteps(document);
document.getElementById('print').addEventListener('click', () => window.print());

const form = document.getElementById('issue');
form?.addEventListener('submit', async e => {
  e.preventDefault();
  const alert = document.getElementById('issue-alert');
  alert.textContent = '';
  const answer =
    await inTurn(() => ask(form.dataset.to, { json: { words: form.words.value.trim(), paper: form.dataset.paper } }));
  if (answer.ok) location.reload();
  else alert.textContent = [answer.what, answer.next].filter(Boolean).join(' ') || 'The notebook gave no answer.';
});
