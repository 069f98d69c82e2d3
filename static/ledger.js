// Recording a sale: one sentence with blanks, written into the ledger and never changed afterwards.
import { ask, inTurn } from './ask.js';
import { path, rereadPart, say, sheet, show, told } from './sheet.js';

export function listen() { // the form comes and goes with the edition
  const dated = form => { if (form) form.when.value ||= sheet.day; };
  dated(document.getElementById('record'));
  document.addEventListener('focusin', e => dated(e.target.closest('#record')));
  document.addEventListener('submit', async e => {
    const form = e.target.closest('#record');
    if (!form) return;
    e.preventDefault();
    const alert = document.getElementById('record-alert'), number = form.number.value.trim();
    alert.textContent = '';
    const json = { number: /^\d+$/.test(number) ? Number(number) : number, what: 'sold', when: form.when.value,
      words: form.words.value.trim(), amount: form.amount.value.trim() };
    const answer = await inTurn(() => ask(path('ledger'), { json, etag: sheet.etag }));
    if (!answer.ok) { alert.textContent = told(answer); return; }
    if (!sheet.passage) show(answer); else sheet.etag = answer.etag ?? sheet.etag;
    form.reset(); document.activeElement?.blur();
    await rereadPart('ledger');
    if (form.isConnected) { form.when.value = sheet.day; form.number.focus(); }
    say(`Print ${number} is in the ledger.`);
  });
}
