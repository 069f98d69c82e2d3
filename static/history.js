// Brings a revision back as the next one; what stands now stays among the revisions.
import { ask, bare } from './ask.js';

const main = document.getElementById('main');
document.addEventListener('click', async e => {
  const button = e.target.closest('[data-back]');
  if (!button) return;
  button.disabled = true;
  const answer = await ask(`${main.dataset.base}/restore`,
    { json: { revision: Number(button.dataset.back) }, etag: bare(main.dataset.etag) });
  if (answer.ok) { location.assign(main.dataset.base); return; }
  button.disabled = false;
  document.getElementById('alert').textContent = answer.status === 412
    ? 'This was changed elsewhere meanwhile; load the page again and look once more.'
    : [answer.what, answer.next].filter(Boolean).join(' ');
});
