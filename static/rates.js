// A rate sheet's table: numbers are filled in, and before anything is saved every plan it moves is shown.
import { ask, inTurn } from './ask.js';
import { reread, say, sheet, told } from './sheet.js';

const table = document.getElementById('asks'), section = document.getElementById('moves'),
  body = document.getElementById('moves-body');
let draft = null, latest = 0;
export const isPending = () => draft !== null;

table.addEventListener('change', e => { const input = e.target.closest('[data-line]'); if (input) fill(input); });
document.getElementById('accept').addEventListener('click', accept);
document.getElementById('put-back').addEventListener('click', () => { draft = null; location.reload(); });
addEventListener('beforeunload', e => { if (draft !== null) e.preventDefault(); });
document.addEventListener('drafted', async ({ detail: text }) => {
  const turn = ++latest;
  await new Promise(done => setTimeout(done, 400));
  if (turn !== latest) return;
  if (text === null) { if (draft === null) section.hidden = true; return; }
  const answer = await ask(`${sheet.base}/moves`, { text });
  if (answer.ok && turn === latest) showMoves(answer, false);
});

async function fill(input) {
  say('Calculating the effect on plans.');
  const answer = await inTurn(() => ask(`${sheet.base}/line`,
    {
      json: { line: input.dataset.line, part: Number(input.dataset.part), value: input.value.trim(),
        ...(draft === null ? {} : { text: draft }) }
    }));
  const frame = input.closest('.given');
  frame.parentElement.querySelector('.problem')?.remove();
  input.removeAttribute('aria-invalid');
  if (!answer.ok) {
    say('');
    const note = document.createElement('span');
    note.className = 'problem beside'; note.setAttribute('role', 'alert'); note.textContent = told(answer);
    frame.after(note); input.setAttribute('aria-invalid', 'true');
    return;
  }
  draft = answer.text;
  showMoves(answer, true);
  const plans = answer.moving === 1 ? 'one plan' : answer.moving ? `${answer.moving} plans` : 'no plan';
  say(`Not saved yet. This moves ${plans}: look below the table, then accept it.`);
}

const el = (name, text, cls) => {
  const e = document.createElement(name);
  if (text !== undefined) e.textContent = text;
  if (cls) e.className = cls;
  return e;
};

function rows(moved, name) {
  const t = el('table', undefined, 'moved'), head = t.createTHead().insertRow(), tb = t.createTBody();
  t.setAttribute('aria-label', name);
  for (const [words, cls] of [['number'], ['from', 'n'], ['', 'arrow'], ['to', 'n'], ['by', 'n']]) {
    const th = el('th', words, cls);
    th.scope = 'col';
    head.append(th);
  }
  for (const m of moved) {
    const row = tb.insertRow(), th = el('th', m.name); th.scope = 'row';
    const arrow = el('td', '→', 'arrow'); arrow.setAttribute('aria-hidden', 'true');
    row.append(th, el('td', m.from ?? '-', 'n'), arrow, el('td', m.to ?? 'removed', 'n to'),
      el('td', m.by ?? '', 'n'));
  }
  return t;
}

// What a change does to plans: to be accepted, only looked at, or, when it is saved already, told.
export function showMoves(moves, mine, saved = '') {
  section.hidden = false;
  document.getElementById('moves-state').textContent = saved || 'Nothing is saved yet.';
  document.getElementById('accept').hidden = !mine; document.getElementById('put-back').hidden = !mine;
  const parts = [];
  if (moves.lines.length) parts.push(el('h3', 'In the sheet'), rows(moves.lines, 'In the sheet'));
  if (moves.problems)
    parts.push(el('p', moves.problems === 1 ? 'One number of the sheet cannot be calculated.'
    : `${moves.problems} numbers of the sheet cannot be calculated.`, 'state broken'));
  if (!moves.dated && moves.lines.length)
    parts.push(el('p', 'It still bears the day of the old quote. Enter the day the new one was given, '
      + 'so that a plan can keep the old one.', 'state slack'));
  for (const plan of moves.plans) {
    const h = el('h3'), a = el('a', plan.title); a.href = `/plan/${plan.slug}`; h.append(a); parts.push(h);
    if (plan.held) parts.push(el('p', `Holds to the quote of ${plan.held}; nothing moves.`, 'aside'));
    else if (plan.hung)
      parts.push(el('p', `Installed on ${plan.hung}; keeps that day’s prices.`, 'aside'));
    else if (!plan.moved.length && !plan.broken.length) parts.push(el('p', 'Nothing moves.', 'aside'));
    else {
      parts.push(rows(plan.moved, plan.title));
      if (plan.more) parts.push(el('p', `and ${plan.more} more`, 'aside'));
      for (const words of plan.broken) parts.push(el('p', `No longer kept: ${words}`, 'state broken'));
      if (plan.role && moves.quoted && !saved) {
        const label = el('label'), box = el('input');
        box.type = 'checkbox';
        box.dataset.hold = plan.slug;
        box.dataset.role = plan.role;
        box.dataset.day = moves.quoted;
        label.append(box, ` hold it to the quote of ${moves.old}`);
        box.disabled = !moves.dated; if (!mine) box.addEventListener('change', () => hold(box));
        const p = el('p'); p.append(label); parts.push(p);
      }
    }
  }
  if (!moves.plans.length) parts.push(el('p', 'No plan uses it.', 'aside'));
  body.replaceChildren(...parts);
}

async function hold(box) {
  const answer = await inTurn(() => ask(`/plan/${box.dataset.hold}/hold`,
    { json: { role: box.dataset.role, day: box.checked ? box.dataset.day : null } }));
  if (!answer.ok) { box.checked = !box.checked; say(told(answer), true); }
  return answer.ok;
}

// Plans that are to keep the old quote are told first, so that nothing of theirs moves in between.
async function accept() {
  for (const box of body.querySelectorAll('[data-hold]:checked')) if (!await hold(box)) return;
  const answer = await inTurn(() => ask(`${sheet.base}/text`, { method: 'PUT', text: draft, etag: sheet.etag }));
  if (answer.ok) { draft = null; location.reload(); return; }
  say(told(answer), true);
  if (answer.status === 412) await reread();
}
