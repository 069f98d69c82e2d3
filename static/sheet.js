// The plan (or rate sheet) on this page: its marks, and showing what the notebook answered without disturbing the
// reader.
import { ask, bare } from './ask.js';
import { fragment, page } from './safe.js';
import { keepIn, patch, patchRange } from './patch.js';
import * as passages from './passages.js';
import { mark } from './revised.js';
import { drawSteps } from './steps.js';

const main = document.getElementById('main');
export const article = document.getElementById('plan');
export const sheet = { base: main.dataset.base, slug: main.dataset.slug, etag: bare(main.dataset.etag),
  revision: main.dataset.revision, studio: main.dataset.studio, frame: main.dataset.frame, day: main.dataset.day,
  passage: null };
const query = location.search;
export const path = name => `${sheet.base}/${name}${query}`;

let fading = 0;
export function say(text, urgent = false) {
  clearTimeout(fading); if (text && !urgent) fading = setTimeout(() => say(''), 12000);
  document.getElementById('said').textContent = urgent ? '' : text;
  document.getElementById('alert').textContent = urgent ? text : '';
}
export const told = answer => [answer.what, answer.next].filter(Boolean).join(' ');

// The article stands in parts, one for each heading. The box open for writing stands in the part of its heading, below
// it; that for the whole text above all parts.
export function standIn(box, passage) {
  const parts = [...article.children], home = passage.whole ? article : parts[partOf(parts, passage)] ?? article;
  const nodes = [...home.childNodes];
  home.insertBefore(box, nodes[passage.whole ? 0 : below(nodes, passage)] ?? null);
}

const lineOf = part =>
  Number((part.matches('[data-line]') ? part : part.querySelector('[data-line], [data-from]'))?.dataset.line ?? 0);
const opens = (node, passage) => node.nodeType === 1
  && (node.matches(`[data-from="${passage.line}"]`) || node.querySelector(`[data-from="${passage.line}"]`));
// Which part a passage belongs to: that of its heading, or, when the heading is being rewritten, the last that
// begins above it.
function partOf(parts, passage) {
  const own = parts.findIndex(part => opens(part, passage));
  return own >= 0 ? own : Math.max(0, parts.findLastIndex(part => lineOf(part) <= passage.line));
}

// Where in its part the box stands: below the heading and the line that says who it is for.
function below(nodes, passage) {
  const heading = nodes.findIndex(n => opens(n, passage));
  if (heading < 0) {
    const after = nodes.findIndex(n => n.nodeType === 1 && Number(n.dataset.line) >= passage.line);
    return after < 0 ? nodes.length : after;
  }
  const next = nodes.slice(heading + 1).findIndex(n => n.nodeType === 1);
  return heading + 1 + (nodes[heading + 1 + next]?.matches?.('.for') ? next + 1 : 0);
}

// New parts stand in the place of neighbouring old ones, which end before `end`. The part that holds the box for
// writing is changed above the box and below it, so that the box stays where it is.
function replace(olds, news, end, note) {
  const box = sheet.passage?.box, home = box?.parentNode;
  if (!home || home === article || !olds.includes(home)) return patchRange(article, olds, news, end, note);
  if (!news.length) { // its heading and all below it are gone
    const next = home.previousElementSibling ?? home.nextElementSibling;
    if (next) keepIn(next, box);
    return patchRange(article, olds, news, end, note);
  }
  const at = olds.indexOf(home), cut = partOf(news, sheet.passage), nodes = [...news[cut].childNodes],
    place = below(nodes, sheet.passage);
  const first = patchRange(article, olds.slice(0, at), news.slice(0, cut), home, note),
    last = patchRange(article, olds.slice(at + 1), news.slice(cut + 1), end, note);
  const inside = [...home.childNodes], middle = inside.indexOf(box);
  patchRange(home, inside.slice(0, middle), nodes.slice(0, place), box, note);
  patchRange(home, inside.slice(middle + 1), nodes.slice(place), null, note);
  return [...first, home, ...last];
}

export function show(answer, { draft = false } = {}) {
  const changed = new Set(), note = n => changed.add(n);
  if (answer.article !== undefined) {
    passages.forget();
    replace([...article.childNodes], [...fragment(answer.article).childNodes], null, note);
  }
  if (answer.parts) passages.take(article, answer, (...places) => replace(...places, note));
  if (answer.article !== undefined || answer.parts) drawSteps(article);
  for (const id of ['title', 'sentence']) {
    const e = document.getElementById(id);
    if (e && answer[id] !== undefined && answer[id] !== null) e.textContent = answer[id];
  }
  if (answer.block?.length) patch(document.getElementById('block'), blockOf(answer.block), note);
  if (!draft) {
    sheet.etag = answer.etag ?? sheet.etag;
    sheet.revision = answer.revision ?? sheet.revision;
    sheet.day = answer.day ?? sheet.day; // the notebook's own day, not the browser's
    if (answer.saved) document.getElementById('saved').textContent = answer.saved;
    if (answer.title)
      document.title = `${answer.title}${sheet.revision ? `, revision ${sheet.revision}` : ''} · ${sheet.studio}`;
  }
  mark(changed, sheet.revision ?? '');
  if (!draft && answer.frame !== undefined && answer.frame !== sheet.frame && sheet.frame !== undefined) {
    sheet.frame = answer.frame;
    reframe();
  }
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
  const fresh = answer.ok && answer.text ? page(answer.text).getElementById(id) : null,
    old = document.getElementById(id);
  if (fresh && old) patch(old, fresh);
}
