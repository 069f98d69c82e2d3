// Givens and task marks: a change on the page is one small write; a refusal stands beside it and the value is kept.
import { calm, fault } from './fault.js';
import { ask, inTurn } from './ask.js';
import { article, path, reread, say, sheet, show, told } from './sheet.js';
import { close } from './writing.js';

export function listen() {
  article.addEventListener('change', e => {
    const given = e.target.closest('[data-given]'), tick = e.target.closest('[data-tick]');
    if (given) change(given); else if (tick) mark(tick);
  });
  document.getElementById('shops')?.addEventListener('change', e => bind(e.target));
  article.addEventListener('keydown', e => { // Esc puts back what was there
    const given = e.target.closest('input[data-given]');
    if (given && e.key === 'Escape') { given.value = given.getAttribute('value') ?? ''; calm(given, of(given)); }
  });
}

const of = control => `fault-${control.dataset.given}`;

async function change(control) {
  const value = control.nodeName === 'SELECT' ? control.selectedOptions[0].textContent.trim() : control.value.trim();
  const which = Number(control.dataset.given), frame = control.closest('.given');
  control.dataset.mine = ''; // what a person put in stays, whatever arrives meanwhile
  if (sheet.passage && !await close()) {
    fault(control, of(control), 'The open passage could not be saved first.');
    return;
  }
  frame?.setAttribute('aria-busy', 'true');
  const answer = await inTurn(() => ask(path('given'), { json: { given: which, value }, etag: sheet.etag }));
  frame?.removeAttribute('aria-busy');
  if (answer.ok) {
    calm(control, of(control));
    control.setAttribute('value', control.value);
    show(answer);
    say('');
    return;
  }
  if (answer.status === 412) {
    await reread();
    fault(control, of(control),
      'This plan changed elsewhere and the page now shows that; '
      + 'your value still stands here, change it again to save it.');
    return;
  }
  fault(control, of(control), told(answer));
}

// Another shop for the plan: its name stands on tickets and in the lists too, so the page is made again.
async function bind(control) {
  if (sheet.passage && !await close()) return;
  const answer = await inTurn(() =>
    ask(path('shop'), { json: { role: control.dataset.role, sheet: control.value }, etag: sheet.etag }));
  if (answer.ok) location.reload(); else say(told(answer), true);
}

async function mark(box) {
  const done = box.checked, line = Number(box.dataset.tick);
  if (sheet.passage && !await close()) { box.checked = !done; return; }
  const answer = await inTurn(() => ask(path('tick'), { json: { line, done }, etag: sheet.etag }));
  if (answer.ok) { show(answer); return; }
  box.checked = !done;
  say(told(answer), true);
  if (answer.status === 412) await reread();
}
