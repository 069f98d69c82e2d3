// The plan (or rate sheet) on this page: its marks, and showing what the notebook answered without disturbing the reader.
import { ask, bare } from './ask.js';
import { fragment, page } from './safe.js';
import { patch, patchRange } from './patch.js';
import * as passages from './passages.js';
import { mark } from './revised.js';
import { drawSteps } from './steps.js';

const main = document.getElementById('main');
export const article = document.getElementById('plan');
export const sheet = { base: main.dataset.base, slug: main.dataset.slug, etag: bare(main.dataset.etag), revision: main.dataset.revision, studio: main.dataset.studio, frame: main.dataset.frame, day: main.dataset.day, passage: null };
const query = location.search;
export const path = name => `${sheet.base}/${name}${query}`;

let fading = 0;
export function say(text, urgent = false) {
  clearTimeout(fading); if (text && !urgent) fading = setTimeout(() => say(''), 12000);
  document.getElementById('said').textContent = urgent ? '' : text;
  document.getElementById('alert').textContent = urgent ? text : '';
}
export const told = answer => [answer.what, answer.next].filter(Boolean).join(' ');

// passage: the box open for writing, with the line it begins on; the page is arranged around it.
export function placeOf(nodes, passage) {
  if (passage.whole) return 0;
  const heading = afterHeading(nodes, passage);
  if (heading >= 0) return heading;
  const after = nodes.findIndex(n => within(n, e => Number(e.dataset.line) >= passage.line));
  return after < 0 ? nodes.length : after;
}

const within = (n, test) => n.nodeType === 1 && (test(n) || [...n.querySelectorAll('[data-from], [data-line]')].some(test));
function afterHeading(nodes, passage) {
  const heading = nodes.findIndex(n => within(n, e => e.dataset.from === String(passage.line)));
  if (heading < 0) return -1;
  const next = nodes.slice(heading + 1).findIndex(n => n.nodeType === 1);
  return heading + 1 + (nodes[heading + 1 + next]?.matches?.('.for') ? next + 1 : 0);
}

// New nodes of the article stand in the place of neighbouring old ones, which stand between `start` and `end`; the box for
// writing stays, below its heading.
function replace(olds, news, start, end, note) {
  const box = sheet.passage?.box, precedes = node => box.compareDocumentPosition(node) & Node.DOCUMENT_POSITION_PRECEDING;
  olds = olds.filter(node => node !== box);
  if (!box?.isConnected || end && precedes(end) || start && !precedes(start)) return patchRange(article, olds, news, end, note);
  const above = olds.filter(precedes), isFirst = start && !above.length;
  const cut = isFirst && !sheet.passage.whole ? Math.max(0, afterHeading(news, sheet.passage)) : placeOf(news, sheet.passage);
  return [...patchRange(article, above, news.slice(0, cut), box, note), ...patchRange(article, olds.slice(above.length), news.slice(cut), end, note)];
}

export function show(answer, { draft = false } = {}) {
  const changed = new Set(), note = n => changed.add(n);
  if (answer.article !== undefined) { passages.forget(); replace([...article.childNodes], [...fragment(answer.article).childNodes], null, null, note); }
  if (answer.parts) passages.take(article, answer, (...places) => replace(...places, note));
  if (answer.article !== undefined || answer.parts) drawSteps(article);
  for (const id of ['title', 'sentence']) { const e = document.getElementById(id); if (e && answer[id] !== undefined && answer[id] !== null) e.textContent = answer[id]; }
  if (answer.block?.length) patch(document.getElementById('block'), blockOf(answer.block), note);
  if (!draft) {
    sheet.etag = answer.etag ?? sheet.etag;
    sheet.revision = answer.revision ?? sheet.revision;
    sheet.day = answer.day ?? sheet.day; // the notebook's own day, not the browser's
    if (answer.saved) document.getElementById('saved').textContent = answer.saved;
    if (answer.title) document.title = `${answer.title}${sheet.revision ? `, revision ${sheet.revision}` : ''} · ${sheet.studio}`;
  }
  mark(changed, sheet.revision ?? '');
  if (!draft && answer.frame !== undefined && answer.frame !== sheet.frame && sheet.frame !== undefined) { sheet.frame = answer.frame; reframe(); }
}

// What stands around the article follows when the head names other shops or another edition: tickets, and the ledger.
async function reframe() {
  const answer = await ask(location.pathname + query, { method: 'GET' });
  const fresh = answer.ok && answer.text ? page(answer.text) : null;
  if (!fresh) return;
  patch(document.querySelector('.top nav'), fresh.querySelector('.top nav'));
  const old = document.getElementById('ledger'), now = fresh.getElementById('ledger');
  if (old && now) patch(old, now); else if (now) article.after(document.importNode(now, true)); else old?.remove();
}

function blockOf(fields) {
  const dl = document.getElementById('block').cloneNode(false);
  for (const { label, value } of fields) {
    const div = document.createElement('div'), dt = document.createElement('dt'), dd = document.createElement('dd');
    dt.textContent = label; dd.textContent = value; div.append(dt, dd); dl.append(div);
  }
  return dl;
}

export async function reread() {
  const answer = await ask(path('sheet'), { method: 'GET' });
  if (answer.ok) show(answer); else say(told(answer), true);
  return answer;
}

// Parts the answer does not carry (the ledger) are taken from the page itself, as the server writes it.
export async function rereadPart(id) {
  const answer = await ask(location.pathname + query, { method: 'GET' });
  const fresh = answer.ok && answer.text ? page(answer.text).getElementById(id) : null, old = document.getElementById(id);
  if (fresh && old) patch(old, fresh);
}
