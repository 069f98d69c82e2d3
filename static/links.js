// Links for shops: makes one and shows its address this once; revokes one at once.
import { ask } from './ask.js';

const plan = `/plan/${document.getElementById('main').dataset.slug}`, base = `${plan}/links`;
const $ = id => document.getElementById(id);
const told = answer => [answer.what, answer.next].filter(Boolean).join(' ') || 'The notebook gave no answer.';

const days = form => {
  const days = form.elements.days.value.trim();
  return /^\d{1,4}$/.test(days) ? Number(days) : 0;
};

async function make(address, json) {
  $('alert').textContent = '';
  const answer = await ask(address, { json });
  if (!answer.ok) { $('alert').textContent = told(answer); return; }
  $('address').textContent = answer.address;
  $('made').hidden = false;
  $('made').scrollIntoView({ block: 'nearest' });
}

$('make')?.addEventListener('submit', e => {
  e.preventDefault();
  make(base, { role: e.target.elements.role.value, days: days(e.target) });
});

$('make-calendar').addEventListener('submit', e => {
  e.preventDefault();
  make(`${plan}/calendar`, { days: days(e.target) });
});

$('copy-address')?.addEventListener('click', async () => {
  try { await navigator.clipboard.writeText($('address').textContent); $('said').textContent = 'Copied.'; }
  catch {
    getSelection().selectAllChildren($('address'));
    $('said').textContent = 'It is marked; copy it with the keyboard.';
  }
});

document.addEventListener('click', async e => {
  const button = e.target.closest('[data-again], [data-revoke], [data-renew-calendar], [data-revoke-calendar]');
  if (!button) return;
  const { again, revoke, renewCalendar, revokeCalendar } = button.dataset;
  if (again) { make(base, { role: again, days: days($('make')) }); return; }
  const answer = await ask(revoke ? `${base}/${revoke}/revoke` : renewCalendar
    ? `${plan}/calendar/${renewCalendar}/renew` : `${plan}/calendar/${revokeCalendar}/revoke`);
  if (answer.ok) location.reload(); else ($('alert') ?? button).textContent = told(answer);
});
