// Makes old nodes like new ones in place: equal parts are skipped, ids are keys, a control in use is left alone.
const CONTROL = new Set(['INPUT', 'SELECT']);
const inUse = node => node.nodeType === 1
  && (node === document.activeElement && node.matches('input:not([type=checkbox]), select, textarea')
  || node.dataset.mine !== undefined);

export function patch(from, to, changed) {
  const element = from.nodeType === 1;
  if (from.isEqualNode(to)) {
    if (element && from.firstElementChild || element && CONTROL.has(from.nodeName)) settle(from, to);
    return;
  }
  if (!element) { if (from.nodeValue !== to.nodeValue) from.nodeValue = to.nodeValue; return; }
  if (inUse(from)) return;
  if (/found|marked|unknown/.test(from.className) && from.textContent !== to.textContent) changed?.(from);
  const openedByHand = from.nodeName === 'DETAILS'
    && !(to.classList.contains('has-problem') && !from.classList.contains('has-problem'));
  const ours = name => name === 'style' || name === 'open' && openedByHand;
  for (const { name } of [...from.attributes]) if (!to.hasAttribute(name) && !ours(name)) from.removeAttribute(name);
  for (const { name, value } of to.attributes) if (from.getAttribute(name) !== value && !ours(name))
    from.setAttribute(name, value);
  if (from.firstChild || to.firstChild) patchRange(from, [...from.childNodes], [...to.childNodes], null, changed);
  if (CONTROL.has(from.nodeName)) settle(from, to);
}

// olds are neighbours in parent, ending before `end`; afterwards news stand in their place. Gives the nodes that stand
// there.
export function patchRange(parent, olds, news, end, changed) {
  if (olds.length === 1 && news.length === 1 && olds[0].nodeType === 3 && news[0].nodeType === 3) {
    if (olds[0].nodeValue !== news[0].nodeValue) olds[0].nodeValue = news[0].nodeValue;
    return olds;
  }
  olds = olds.filter(o => !(o.nodeType === 1 && o.dataset.keep !== undefined));
  const pairs = new Map(), free = new Set(olds), ids = new Map(olds.filter(o => o.id).map(o => [o.id, o]));
  const words = new Map(), say = n => {
    let w = words.get(n);
    if (w === undefined) words.set(n, w = n.nodeName + n.textContent);
    return w;
  };
  const same = (o, n) => say(o) === say(n), pair = (o, n) => { pairs.set(n, o); free.delete(o); };
  let a = 0, z = 0;
  while (a < olds.length && a < news.length && same(olds[a], news[a])) { pair(olds[a], news[a]); a++; }
  while (z < olds.length - a && z < news.length - a && same(olds[olds.length - 1 - z], news[news.length - 1 - z])) {
    pair(olds[olds.length - 1 - z], news[news.length - 1 - z]);
    z++;
  }
  const middle = news.slice(a, news.length - z), rest = olds.slice(a, olds.length - z),
    oldAt = new Map(rest.map((o, i) => [o, i]));
  for (const n of middle) {
    const o = n.id && ids.get(n.id);
    if (o && free.has(o) && o.nodeName === n.nodeName) pair(o, n);
  }
  let at = 0; // neighbours saying the same, a little further on, are the same
  for (const n of middle) if (!pairs.has(n)) {
    for (let i = at; i < Math.min(at + 24, rest.length); i++) {
      if (free.has(rest[i]) && !rest[i].id && same(rest[i], n)) {
        pair(rest[i], n);
        at = i + 1;
        break;
      }
    }
  }
  at = 0; // what is left is taken in order, kind by kind
  for (const n of middle) if (pairs.has(n)) at = Math.max(at, (oldAt.get(pairs.get(n)) ?? -1) + 1);
    else {
      const o = rest[at];
      if (o && free.has(o) && o.nodeName === n.nodeName && !(o.id && n.id)) { pair(o, n); at++; }
    }
  for (const o of free) o.remove();
  const stand = [];
  let next = end;
  for (const n of [...news].reverse()) {
    const o = pairs.get(n);
    if (o) patch(o, n, changed);
    const node = o ?? document.importNode(n, true);
    if (!o || node.nextSibling !== next && !onlyKept(node.nextSibling, next)) place(parent, node, next);
    stand.push(next = node);
  }
  return stand.reverse();
}

function onlyKept(node, until) {
  while (node && node !== until) { if (node.dataset?.keep === undefined) return false; node = node.nextSibling; }
  return node === until;
}

function place(parent, node, before) {
  if (node.isConnected && parent.moveBefore) parent.moveBefore(node, before); else parent.insertBefore(node, before);
}

// Moves a node to the end of another without letting go of the writing mark.
export function keepIn(parent, node) { place(parent, node, null); }

// What a control shows is a property, not an attribute: bring it along unless a person is at it.
function settle(from, to) {
  const all = CONTROL.has(from.nodeName) ? [[from, to]]
    : zip(from.querySelectorAll('input, select'), to.querySelectorAll('input, select'));
  for (const [f, t] of all) if (!inUse(f)) {
    if (f.type === 'checkbox') f.checked = t.hasAttribute('checked');
    else if (f.nodeName === 'SELECT') {
      const i = [...t.options].findIndex(o => o.hasAttribute('selected'));
      if (i >= 0) f.selectedIndex = i;
    }
    else if (f.value !== (t.getAttribute('value') ?? '')) f.value = t.getAttribute('value') ?? '';
  }
}
const zip = (a, b) => a.length === b.length ? [...a].map((x, i) => [x, b[i]]) : [];
