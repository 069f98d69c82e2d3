// The wall: hangs every work to one scale beside a 1.7 m figure, re-hangs in rows, and shows the same as a table.
import { ask } from './ask.js';
import { page } from './safe.js';
import { patch } from './patch.js';
import { follow } from './follow.js';
import { sortable } from './table.js';
import * as copy from './copy.js';

const $ = id => document.getElementById(id);
const wall = $('wall');
copy.listen();

const height = li => Number(li.dataset.h);
function size() {
  for (const li of wall.children) {
    li.style.setProperty('--w', li.dataset.w);
    li.style.setProperty('--h', li.dataset.h);
  }
}
function rows() {
  const all = [];
  for (const li of [...wall.children].filter(li => !li.hidden)) {
    const row = all.at(-1);
    if (row && row[0].offsetTop === li.offsetTop) row.push(li);
    else all.push([li]);
  }
  return all;
}
// Each row is only as tall as its tallest work wants, and has a figure where there is room for one.
function hang() {
  if (wall.hidden) return;
  const first = wall.querySelector('.person');
  wall.querySelectorAll('.person').forEach(p => p !== first && p.remove());
  for (const li of wall.children) li.style.removeProperty('--top');
  const width = wall.clientWidth, need = first.offsetWidth;
  for (const row of rows().slice(1)) {
    const used = row.reduce((sum, li) => {
      li.style.flexGrow = 0;
      const w = li.offsetWidth;
      li.style.removeProperty('flex-grow');
      return sum + w;
    }, 0);
    if (width - used < need) continue;
    const p = first.cloneNode(true); p.setAttribute('aria-hidden', 'true'); p.dataset.keep = '';
    row[0].before(p); if (p.offsetTop !== row[0].offsetTop) p.remove();
  }
  for (const row of rows()) {
    const tops = row.map(li => li.classList.contains('person') ? 178
      : Math.max(150, height(li) / 2 + 8) + height(li) / 2);
    for (const li of row) li.style.setProperty('--top', Math.max(200, ...tops) + 22);
  }
}

function show(as) {
  const table = as === 'table';
  wall.hidden = table; $('list').hidden = !table; document.querySelector('.bar1').hidden = table;
  $('as-wall').setAttribute('aria-pressed', String(!table)); $('as-table').setAttribute('aria-pressed', String(table));
  $('how-hung').textContent = table ? 'The same artworks; a column’s name sorts by it.'
    : 'Hung to one scale, every centre 150 cm from the floor.';
  remember('wall as', as);
  if (!table) hang();
}
const remember = (what, value) => {
  try { localStorage.setItem(`makeready ${what}`, value); } catch { /* works without */ }
};
const recall = what => { try { return localStorage.getItem(`makeready ${what}`); } catch { return null; } };

if (wall) {
  size(); hang();
  new ResizeObserver(hang).observe($('hang')); document.fonts.ready.then(hang);
  $('as-wall').onclick = () => show('wall'); $('as-table').onclick = () => show('table');
  // What is looked for is found in the plans' whole texts and values, so the notebook is asked.
  let typed = 0;
  const look = () => {
    const words = $('find').value.trim();
    history.replaceState(null, '', words ? `/?find=${encodeURIComponent(words)}` : '/');
    refresh();
  };
  $('find').addEventListener('input', () => { clearTimeout(typed); typed = setTimeout(look, 120); });
  $('look').addEventListener('submit', e => { e.preventDefault(); look(); });
  const keys = $('keys');
  keys.checked = recall('keys') !== 'off';
  keys.onchange = () => remember('keys', keys.checked ? 'on' : 'off');
  addEventListener('keydown', e => {
    if (!keys.checked || e.ctrlKey || e.metaKey || e.altKey
      || e.target.matches('input:not([type=checkbox]), textarea, select') || document.querySelector('dialog[open]'))
      return;
    if (e.key === 't') show('table'); if (e.key === 'w') show('wall');
  });
  sortable($('list').querySelector('table'), [1, 4]);
  if (location.hash === '#table' || recall('wall as') === 'table') show('table');
}

// What changes elsewhere, or is looked for, arrives as the page itself.
let asked = 0;
async function refresh() {
  const turn = ++asked;
  const answer = await ask(location.pathname + location.search, { method: 'GET' });
  if (!answer.ok || !answer.text || turn !== asked) return;
  const fresh = page(answer.text);
  if (!fresh.getElementById('wall') !== !wall) { location.reload(); return; }
  for (const part of ['.block', '#recalculating', '#how-found', '#wall', '#list tbody']) {
    const old = document.querySelector(part), next = fresh.querySelector(part);
    if (old && next) { if (part === '#wall') next.hidden = old.hidden; patch(old, next); }
  }
  if (wall) { size(); hang(); }
}
let waiting = 0;
const catchUp = () => { clearTimeout(waiting); waiting = setTimeout(refresh, 120); };
follow(catchUp, catchUp);
