// Server HTML becomes nodes here and nowhere else. What the list does not know is left out: by the browser's own
// sanitizer where it has one, else by a look at every element and attribute.
import { allowed } from './allowed.js';

const SPACES = { html: 'http://www.w3.org/1999/xhtml', svg: 'http://www.w3.org/2000/svg' };
const all = Object.entries(SPACES).flatMap(([kind, namespace]) =>
  Object.entries(allowed[kind]).map(([name, attributes]) => ({ name, namespace, attributes })));
const has = typeof Sanitizer === 'function' && 'setHTML' in Element.prototype && 'parseHTML' in Document;
export const sanitizer = has ? new Sanitizer({ elements: all, attributes: allowed.attributes, dataAttributes: true })
  : null;

export function fragment(html, own = sanitizer) {
  const template = document.createElement('template');
  if (own) template.setHTML(html, { sanitizer: own });
  else { template.innerHTML = trusted(html); check(template.content); }
  return template.content;
}

export function page(html, own = sanitizer) {
  if (own) return Document.parseHTML(html, { sanitizer: own });
  return check(new DOMParser().parseFromString(trusted(html), 'text/html'));
}

let policy;
function trusted(html) {
  policy ??= globalThis.trustedTypes?.createPolicy('makeready', { createHTML: html => html })
    ?? { createHTML: html => html };
  return policy.createHTML(html);
}

const known = new Map(all.map(({ name, namespace, attributes }) =>
  [`${namespace} ${name}`, new Set([...attributes, ...allowed.attributes])]));
const LEADS = new Set(['href', 'src', 'action']);

function check(root) {
  for (const element of [...root.querySelectorAll('*')]) {
    const may = known.get(`${element.namespaceURI} ${element.localName}`);
    if (!may) { element.remove(); continue; }
    for (const { name, value } of [...element.attributes])
      if (!may.has(name) && !name.startsWith('data-') || LEADS.has(name) && !leads(value))
        element.removeAttribute(name);
  }
  return root;
}

// To the web, to mail or into the notebook, as the browser itself reads the address.
function leads(to) {
  try { return ['http:', 'https:', 'mailto:'].includes(new URL(to, location.href).protocol); } catch { return false; }
}
