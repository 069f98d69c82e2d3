// A rate sheet's price list: each cell is one small write, the empty last row becomes an item once it is named, and a
// list from elsewhere becomes rows. What is refused stands beside its cell, and nothing is saved.
import { calm, fault } from './fault.js';
import { ask, inTurn } from './ask.js';
import { article, path, reread, rereadPart, say, sheet, show } from './sheet.js';
import { close } from './writing.js';
import { isPending, showMoves } from './rates.js';

const cells = row => [...article.querySelectorAll(`[data-cell][data-row="${row}"]`)];
const valueOf = control => control.value.trim();
const told = ({ what, next }) => [what, next].filter(Boolean).join('; ').replace(/`([^`]*)`/g, '“$1”');
const asks = document.getElementById('asks');

article.addEventListener('change', e => { const cell = e.target.closest('[data-cell]'); if (cell) fill(cell); });
article.addEventListener('click', e => {
  const button = e.target.closest('[data-remove]');
  if (button) remove(button);
});
article.addEventListener('keydown', e => { // Esc puts back what was there, Enter goes on to the row below
  const cell = e.target.closest('input[data-cell]');
  if (cell && e.key === 'Escape') { cell.value = cell.getAttribute('value') ?? ''; calm(cell, faultOf(cell)); }
  const below = cell && e.key === 'Enter'
    && cells(Number(cell.dataset.row) + 1).find(one => one.dataset.cell === cell.dataset.cell);
  if (below) { e.preventDefault(); below.focus(); }
});
// A day typed key by key is many days on the way: it is saved when it is left or a moment after the last key.
let waiting = 0;
const put = day => {
  clearTimeout(waiting);
  if (day.value !== day.getAttribute('value'))
    inTurn(() => write([day], { act: 'day', which: day.dataset.day, value: day.value }));
};
asks.addEventListener('change', e => {
  const day = e.target.closest('[data-day]');
  if (day) { clearTimeout(waiting); waiting = setTimeout(put, 1500, day); }
});
asks.addEventListener('focusout', e => { const day = e.target.closest('[data-day]'); if (day) put(day); });

async function sent(json) {
  if (isPending())
    return { ok: false, what: 'A change under “Effect on plans” is not saved yet', next: 'accept or discard it first' };
  if (sheet.passage && !await close()) return { ok: false, what: 'The open passage could not be saved first' };
  const answer = await ask(path('prices'), { json, etag: sheet.etag });
  if (answer.status === 412) {
    await reread();
    answer.what = 'This sheet changed elsewhere and the page now shows that';
    answer.next = 'your value still stands here, change it again to save it';
  }
  return answer;
}

// What was filled in is saved; the first of the controls is the one a refusal stands beside.
async function write(controls, json) {
  const answer = await sent(json);
  if (answer.ok) {
    for (const one of controls) { calm(one, faultOf(one)); one.setAttribute('value', one.value); }
    took(answer);
  }
  else fault(controls[0], faultOf(controls[0]), told(answer));
  return answer;
}

function took(answer) {
  show(answer);
  const at = document.activeElement; // a control in use is left alone, but for whose it is
  if (at?.dataset.cell && !at.closest('tr.next')) {
    at.setAttribute('aria-label',
      `${cells(at.dataset.row).find(one => one.dataset.cell === 'item')?.value ?? ''}, ${at.dataset.cell}`);
    at.removeAttribute('placeholder');
  }
  if (document.querySelector('.open-lines')) rereadPart('asks'); // what is still open
  say('');
  if (!answer.moves) return;
  showMoves(answer.moves, false, `Saved as revision ${sheet.revision}.`);
  const plans = answer.moves.moving === 1 ? 'one plan' : `${answer.moves.moving} plans`;
  if (answer.moves.moving) say(`Saved. This moves ${plans}: see below the list.`);
}

function fill(control) {
  control.dataset.mine = ''; // what a person put in stays, whatever arrives meanwhile
  inTurn(() => { // only in its turn is it known whether the row is an item already
    const row = control.closest('tr'), column = control.dataset.cell;
    if (!row.matches('.next'))
      return write([control], { act: 'set', row: Number(control.dataset.row), column, value: valueOf(control) });
    const filled = cells(control.dataset.row).filter(cell => cell.nodeName === 'SELECT'
      ? cell.dataset.mine !== undefined : valueOf(cell));
    if (!filled.some(cell => cell.dataset.cell === 'item')) return null;
    return add(row, [control, ...filled.filter(cell => cell !== control)]);
  });
}

async function add(row, filled) {
  const last = row.lastElementChild;
  last.textContent = 'remove'; // so that it is seen as the item it becomes, and the caret stays in it
  const answer = await write(filled, { act: 'add', cells: filled.map(cell => [cell.dataset.cell, valueOf(cell)]) });
  if (!answer.ok) last.textContent = '';
}

const remove = button => inTurn(async () => {
  const name = button.getAttribute('aria-label').replace(/^remove /, ''), row = Number(button.dataset.remove),
    was = sheet.revision;
  const answer = await sent({ act: 'remove', row });
  if (!answer.ok) { say(told(answer), true); return; }
  took(answer);
  say(`${name} is removed; revision ${was} still has it.`);
  (cells(row)[0] ?? cells(row - 1)[0])?.focus();
});

const faultOf = control =>
  `fault-${control.dataset.row ?? control.dataset.day}-${control.dataset.cell ?? ''}`.replaceAll(' ', '-');

const pasted = document.getElementById('pasted'), unread = document.getElementById('unread');
document.getElementById('paste-file').addEventListener('change', async e => {
  const file = e.target.files[0];
  if (file) pasted.value = await file.text();
});
document.getElementById('paste-in').addEventListener('click', () => inTurn(async () => {
  if (!pasted.value.trim()) { unread.textContent = 'Paste a list first.'; return; }
  const answer = await sent({ act: 'paste', text: pasted.value });
  const note = (text, cls) => {
    const p = document.createElement('p');
    p.textContent = text;
    p.className = cls;
    return p;
  };
  if (!answer.ok) { unread.replaceChildren(note(told(answer), 'problem')); return; }
  took(answer);
  const head = answer.added === 1 ? 'One item is added.' : answer.added ? `${answer.added} items are added.`
    : 'No item is added.';
  const rest = answer.unread.length ? ' These lines could not be read and still stand above:' : '';
  unread.replaceChildren(note(head + rest, 'aside'),
    ...answer.unread.map(one => note(`${one.text}: ${told(one)}`, 'problem')));
  pasted.value = answer.unread.map(one => one.text).join('\n');
}));
