// Handing a certificate out, and printing it.
import { ask } from './ask.js';

document.getElementById('print').addEventListener('click', () => print());
document.getElementById('issue')?.addEventListener('click', async e => {
  e.target.disabled = true;
  const answer = await ask(document.getElementById('main').dataset.issue, { json: {} });
  if (answer.ok && answer.location) { location.assign(answer.location); return; }
  e.target.disabled = false;
  document.getElementById('alert').textContent = [answer.what, answer.next].filter(Boolean).join('; ');
});
