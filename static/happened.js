// What really happened: a step ticked with its day, a quote, an invoice, a snag; each becomes a line of the plan's
// text.
import { ask, inTurn } from './ask.js';
import { article, path, reread, rereadPart, say, sheet, show, told } from './sheet.js';
import { close } from './writing.js';

const dialog = document.getElementById('happened'), form = document.getElementById('happened-form');

export function listen() {
  if (!dialog) return;
  document.getElementById('quotes')?.addEventListener('click', e => {
    const b = e.target.closest('[data-hold]');
    if (b) hold(b);
  });
  article.addEventListener('change', e => { const box = e.target.closest('[data-step]'); if (box) tick(box); });
  article.addEventListener('click', e => {
    const bill = e.target.closest('[data-cost]'), snag = e.target.closest('[data-snag]');
    if (bill) open('bill', bill.dataset.cost); else if (snag) open('snag');
  });
  dialog.addEventListener('click', e => { if (e.target.closest('[data-shut]')) dialog.close(); });
  dialog.addEventListener('close', () => {
    const box = [...article.querySelectorAll('[data-step]')].find(b => b.checked !== (b.dataset.day !== ''));
    if (box) box.checked = !box.checked;
  });
  form.addEventListener('submit', submit);
}

function tick(box) {
  if (box.checked) open('step', box.dataset.step);
  else send({ kind: 'finished', what: box.dataset.step, day: '' }, box);
}

function open(kind, what = '') {
  form.reset(); form.dataset.kind = kind; form.dataset.what = what;
  document.getElementById('happened-alert').textContent = '';
  document.getElementById('happened-name').textContent = { step: `${what} is done`, bill: what, snag: 'A snag' }[kind];
  for (const part of form.querySelectorAll('[data-for]')) {
    part.hidden = !part.dataset.for.split(' ').includes(kind);
    for (const i of part.querySelectorAll('input, select')) i.disabled = part.hidden;
  }
  const steps = form.elements.step;
  steps.replaceChildren(new Option('none', ''),
    ...[...new Set([...article.querySelectorAll('[data-step]')].map(b => b.dataset.step))].map(s => new Option(s, s)));
  form.elements.day.value = sheet.day;
  dialog.showModal();
  form.querySelector('p:not([hidden]) input')?.focus();
}

async function submit(e) {
  e.preventDefault();
  const { kind, what } = form.dataset, f = form.elements;
  const json = kind === 'step' ? { kind: 'finished', what, day: f.day.value }
    : kind === 'bill' ? { kind: f.firm.value, what, amount: f.amount.value.trim(), day: f.day.value }
      : { kind: 'snag', what: f.words.value.trim(), amount: f.amount.value.trim(), step: f.step.value };
  await send(json);
}

async function send(json, box) {
  if (sheet.passage && !await close()) { if (box) box.checked = !box.checked; return; }
  const answer = await inTurn(() => ask(path('happened'), { json, etag: sheet.etag }));
  if (answer.ok) {
    if (dialog.open) dialog.close();
    show(answer);
    say('It is in the text of the plan, and the rest is dated and totalled again.');
    return;
  }
  if (box) {
    box.checked = !box.checked;
    say(told(answer), true);
  } else document.getElementById('happened-alert').textContent = told(answer);
  if (answer.status === 412) await reread();
}

// Holding to a quote, or letting it go, changes the head of the text.
async function hold(button) {
  if (sheet.passage && !await close()) return;
  const answer = await inTurn(() =>
    ask(path('hold'), { json: { role: button.dataset.hold, day: button.dataset.day || null }, etag: sheet.etag }));
  if (!answer.ok) { say(told(answer), true); if (answer.status === 412) await reread(); return; }
  show(answer); await rereadPart('quotes');
}
