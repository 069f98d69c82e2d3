// Links for shops: makes one and shows its address this once; revokes one at once.
import { ask } from './ask.js';

const plan = `/plan/${document.getElementById('main').dataset.slug}`, base = `${plan}/links`;
const $ = id => document.getElementById(id);
const told = answer => [answer.what, answer.next].filter(Boolean).join(' ') || 'The notebook gave no answer.';

$('make')?.addEventListener('submit', async e => {
  e.preventDefault();
  const form = e.target, days = form.elements.days.value.trim();
  $('alert').textContent = '';
  const answer = await ask(base, { json: { role: form.elements.role.value, days: /^\d{1,4}$/.test(days) ? Number(days) : 0 } });
  if (!answer.ok) { $('alert').textContent = told(answer); return; }
  $('address').textContent = answer.address;
  $('made').hidden = false;
});

$('make-calendar').addEventListener('click', async () => {
  $('alert').textContent = '';
  const answer = await ask(`${plan}/calendar`);
  if (!answer.ok) { $('alert').textContent = told(answer); return; }
  $('address').textContent = answer.address;
  $('made').hidden = false;
  $('made').scrollIntoView({ block: 'nearest' });
});

$('copy-address')?.addEventListener('click', async () => {
  try { await navigator.clipboard.writeText($('address').textContent); $('said').textContent = 'Copied.'; }
  catch { getSelection().selectAllChildren($('address')); $('said').textContent = 'It is marked; copy it with the keyboard.'; }
});

document.addEventListener('click', async e => {
  const button = e.target.closest('[data-revoke], [data-revoke-calendar]');
  if (!button) return;
  const { revoke, revokeCalendar } = button.dataset;
  const answer = await ask(revoke ? `${base}/${revoke}/revoke` : `${plan}/calendar/${revokeCalendar}/revoke`);
  if (answer.ok) location.reload(); else ($('alert') ?? button).textContent = told(answer);
});
