// Writing a passage in place: every change is drafted, the page follows, saving and closing never lose a word.
import { ask, inTurn } from './ask.js';
import { article, path, reread, say, sheet, show, standIn, told } from './sheet.js';
import { choose } from './clash.js';
import { underline } from './mirror.js';
import * as kept from './kept.js';
import * as passages from './passages.js';

const count = text => {
  let n = 0;
  for (let at = text.indexOf('\n'); at >= 0; at = text.indexOf('\n', at + 1)) n++;
  return n;
};
// Where a line of a text begins, counted from 1; the end of the text when it has fewer.
const startOf = (text, line) => {
  let at = 0;
  while (--line > 0) { at = text.indexOf('\n', at) + 1; if (!at) return text.length; }
  return at;
};
const $ = id => document.getElementById(id);
let bringBack = () => {};
export const onBringBack = act => { bringBack = act; };

export const changed = p => p && p.area.value !== p.saved;
export const textOf = p => p.before + (p.crlf ? p.area.value.replace(/\n/g, '\r\n') : p.area.value) + p.tail + p.after;

// The text as it stands in the notebook; when it has moved on, the page is brought up to it first.
async function current() {
  const answer = await ask(`${sheet.base}/text`, { method: 'GET' });
  if (!answer.ok) { say(told(answer), true); return null; }
  if (answer.etag && answer.etag !== sheet.etag) {
    const fresh = await reread();
    if (!fresh.ok) return null;
    return { text: answer.text, moved: true };
  }
  return { text: answer.text, moved: false };
}

export async function openSection(button) {
  const id = button.closest('[id]')?.id;
  if (!await close()) return;
  const now = await current(); if (!now) return;
  const again = button.isConnected ? button : (id && $(id)?.querySelector('.write'));
  const place = again?.closest('[data-from]') ?? again?.querySelector('[data-from]');
  if (!place) { say('The plan changed elsewhere meanwhile; choose the passage again.'); return; }
  begin(now.text, Number(place.dataset.from), Number(place.dataset.to), again);
}

export async function openWhole(mine) {
  if (!await close()) return;
  const now = await current(); if (!now) return;
  begin(now.text, 1, null, $('write-all'));
  if (mine !== undefined) {
    sheet.passage.area.value = mine.replace(/^\ufeff/, '').replace(/\r\n/g, '\n').replace(/\n+$/, '');
    wrote();
  }
}

function begin(whole, from, to, button) {
  const [mark, text] = whole.startsWith('\ufeff') ? ['\ufeff', whole.slice(1)] : ['', whole];
  const start = startOf(text, from), end = to === null ? text.length : Math.max(start, startOf(text, to));
  const passage = text.slice(start, end), tail = passage.match(/[\r\n]*$/)[0], after = text.slice(end),
    box = $('box').content.firstElementChild.cloneNode(true);
  box.dataset.keep = '';
  const p = { id: crypto.randomUUID?.() ?? String(Math.random()), line: from, whole: to === null,
    before: mark + text.slice(0, start), after, box, button: button.id || button.closest('[id]')?.id,
    tail: tail || (after ? '\n' : ''), crlf: passage.includes('\r\n'), area: box.querySelector('textarea'),
      mirror: box.querySelector('.mirror') };
  p.area.value = passage.slice(0, passage.length - tail.length).replace(/\r\n/g, '\n'); p.saved = p.area.value;
  sheet.passage = p;
  standIn(box, p);
  box.addEventListener('click', e => {
    const act = e.target.closest('[data-act]')?.dataset.act;
    if (act === 'save') save();
    if (act === 'done') close();
    if (act === 'leave') leave();
  });
  box.addEventListener('keydown', e => {
    if (e.key.toLowerCase() === 's' && (e.ctrlKey || e.metaKey) && !e.altKey) { e.preventDefault(); save(); }
    if (e.key === 'Escape' && !e.isComposing) { e.preventDefault(); close(); }
  });
  p.area.addEventListener('input', wrote);
  document.body.classList.add('writing'); document.body.classList.toggle('beside', p.whole);
  if (p.whole) for (const what of ['keyup', 'pointerup']) p.area.addEventListener(what, () => follow(p));
  grow(p); draft(); stand('nothing changed yet');
  p.area.focus({ preventScroll: true }); p.area.setSelectionRange(0, 0);
  if (box.getBoundingClientRect().top < 0 || box.getBoundingClientRect().top > innerHeight * .7)
    box.scrollIntoView({ block: 'start' });
}

const stand = words => { const s = $('standing'); if (s && s.textContent !== words) s.textContent = words; };
// With text and sheet beside each other, the sheet stays where the writing mark is.
function follow({ area, line }) {
  const here = line + count(area.value.slice(0, area.selectionStart));
  const last = [...article.querySelectorAll(':scope > .part > [data-line]')].filter(e =>
    Number(e.dataset.line) <= here).at(-1);
  const box = last?.getBoundingClientRect();
  if (box && (box.bottom < 0 || box.top > innerHeight * .8)) scrollTo({ top: scrollY + box.top - innerHeight / 3 });
}
function grow({ area }) {
  if (!CSS.supports('field-sizing', 'content')) {
    area.style.height = 'auto';
    area.style.height = `${area.scrollHeight}px`;
  }
}

function wrote() {
  const p = sheet.passage;
  grow(p); underline(p.mirror, p.area.value, p.problems ?? []);
  stand(changed(p) ? 'not saved yet' : 'as saved'); draft();
  clearTimeout(p.keeping); p.keeping = setTimeout(hold, 400);
}

export function hold(extra = {}) {
  const p = sheet.passage; if (!p) return true;
  return changed(p) ? kept.keep({ id: p.id, etag: sheet.etag, text: textOf(p), ...extra }) : kept.forget(p.id);
}

// At most one draft under way; the latest text follows it.
async function draft() {
  const p = sheet.passage;
  if (p.busy) { p.again = true; return; }
  p.busy = true; p.again = false;
  const shown = passages.mark(), answer = await ask(path('draft'), { text: textOf(p), shown });
  p.busy = false;
  if (sheet.passage !== p) return;
  // the page was made again meanwhile; this told what differs from before
  if (answer.ok && shown !== passages.mark()) p.again = true;
  else if (answer.ok) {
    document.dispatchEvent(new CustomEvent('drafted', { detail: changed(p) ? textOf(p) : null }));
    show(answer, { draft: true });
    if (!p.again) tell(answer.problems ?? []);
  }
  else { hold(); stand(answer.status ? told(answer) : 'The notebook cannot be reached; your text is kept here.'); }
  if (p.again) draft();
}

function tell(problems) {
  const p = sheet.passage, last = p.line + count(p.area.value);
  const inside =
    problems.filter(x => x.line >= p.line && x.line <= last).map(x => ({ ...x, here: x.line - p.line + 1 }));
  p.problems = inside; underline(p.mirror, p.area.value, inside);
  const rows = inside.map(x => {
    const row = document.createElement('p'), go = document.createElement('button');
    row.className = 'problem'; go.type = 'button'; go.className = 'do'; go.textContent = `Line ${x.here}`;
    go.title = 'put the writing mark there'; go.onclick = () => goTo(p, x);
    row.append(go, p.line > 1 ? ` (${x.line} of the whole): ${x.what} ` : `: ${x.what} `);
    if (x.next) {
      const next = document.createElement('span');
      next.className = 'next';
      next.textContent = x.next;
      row.append(next);
    }
    return row;
  });
  const others = problems.length - inside.length;
  if (others) {
    const row = document.createElement('p');
    row.className = 'aside';
    row.textContent = others === 1 ? 'One problem elsewhere on this sheet.'
      : `${others} problems elsewhere on this sheet.`;
    rows.push(row);
  }
  const wrong = $('wrong'), text = n => n.map(x => x.textContent).join('\n');
  if (text(rows) !== text([...wrong.children])) wrong.replaceChildren(...rows);
  p.area.setAttribute('aria-invalid', String(inside.length > 0));
}

function goTo(p, { here, column }) {
  const at = p.area.value.split('\n').slice(0, here - 1).reduce((n, l) => n + l.length + 1, 0) + Math.max(0,
    (column ?? 1) - 1);
  p.area.focus(); p.area.setSelectionRange(at, at);
}

export function save(over) {
  return inTurn(async () => {
    const p = sheet.passage; if (!p || !changed(p) && !over) return true;
    const value = p.area.value, text = textOf(p), etag = over ?? sheet.etag;
    stand('saving'); hold();
    const answer = await ask(path('text'), { method: 'PUT', text, etag });
    if (answer.ok) {
      p.saved = value; show(answer, { draft: changed(p) }); sheet.etag = answer.etag ?? sheet.etag;
      if (changed(p)) { hold(); draft(); } else kept.forget(p.id);
      say(''); stand(answer.saved ?? 'saved'); return true;
    }
    if (answer.status === 412) return { ...answer, mine: text };
    stand(`${told(answer)} Not saved; press save to try again.`); return false;
  }).then(result => result?.status === 412 ? settle(result) : result);
}

async function settle(answer) {
  if (answer.theirs === answer.mine) {
    sheet.passage.saved = sheet.passage.area.value;
    kept.forget(sheet.passage.id);
    await reread();
    stand('as saved');
    return true;
  }
  const p = sheet.passage, { selectionStart: from, selectionEnd: to } = p.area;
  const choice = await choose({ ...answer, theirs: answer.theirs ?? '' });
  // The dialog gives the focus back, but not the writing mark: without it what is typed would go nowhere.
  if (choice !== 'theirs' && sheet.passage === p) {
    p.area.focus({ preventScroll: true });
    p.area.setSelectionRange(from, to);
  }
  if (choice === 'mine') return save(answer.etag);
  if (choice === 'theirs') {
    hold({ aside: true });
    shut();
    await reread();
    say('The text saved meanwhile stands here now; yours is set aside.');
    kept.offer(bringBack);
    return true;
  }
  stand('not saved yet; another text was saved meanwhile'); return false;
}

export async function close() {
  const p = sheet.passage; if (!p) return true;
  if (changed(p) && !await save()) return false;
  if (sheet.passage === p) shut();
  return true;
}

async function leave() {
  const p = sheet.passage, was = changed(p);
  if (was) hold({ aside: true }); else kept.forget(p.id);
  shut(); await reread();
  if (was) { say('Left as it was; what you wrote is set aside.'); kept.offer(bringBack); }
}

function shut() {
  const p = sheet.passage, here = p.box.contains(document.activeElement) || document.activeElement === document.body;
  clearTimeout(p.keeping);
  sheet.passage = null; p.box.remove(); document.body.classList.remove('writing', 'beside');
  if (!here) return;
  const place = p.button && $(p.button) || article.querySelector(`[data-from="${p.line}"]`);
  (place?.matches('button') ? place : place?.querySelector('.write'))?.focus({ preventScroll: true });
}
