// The passages of the article as a draft was last answered. The next answer names those that stay and carries the
// others, so that a key press costs what it changed, however long the plan is.
import { fragment } from './safe.js';

const none = { mark: 'none', all: [] };
let shown = none;
export const mark = () => shown.mark;
export const forget = () => { shown = none; };

// answer.parts, from above: a new passage as HTML, or [from which, how many, how many lines further down] of those
// shown.
export function take(article, answer, replace) {
  const old = shown === none ? [[...article.childNodes]] : shown.all, all = [];
  let at = 0, fresh = [];
  const first = from => old.slice(from).find(nodes => nodes.length)?.[0] ?? null;
  const put = until => {
    if (fresh.length || until > at) {
      let stand = replace(old.slice(at, until).flat(), fresh.flat(), first(until));
      for (const nodes of fresh) { all.push(stand.slice(0, nodes.length)); stand = stand.slice(nodes.length); }
    }
    fresh = [];
  };
  for (const part of answer.parts) {
    if (typeof part === 'string') { fresh.push([...fragment(part).childNodes]); continue; }
    const [from, count, lines] = part, stay = old.slice(from, from + count);
    put(from);
    if (lines) for (const node of stay.flat()) if (node.nodeType === 1) move(node, lines);
    all.push(...stay);
    at = from + count;
  }
  put(old.length);
  shown = { mark: answer.shown, all };
}

// What tells of lines of the text tells of them further down.
const TELLS = ['data-line', 'data-from', 'data-to', 'data-tick'], ANY = TELLS.map(name => `[${name}]`).join();
function move(node, lines) {
  for (const e of [node, ...node.querySelectorAll(ANY)])
    for (const name of TELLS) if (e.hasAttribute(name))
      e.setAttribute(name, String(Number(e.getAttribute(name)) + lines));
}
