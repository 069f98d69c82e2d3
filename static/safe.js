// Server HTML becomes nodes here and nowhere else, through the one trusted-types policy.
const policy = globalThis.trustedTypes?.createPolicy('makeready', { createHTML: html => html }) ?? { createHTML: html => html };

export function fragment(html) {
  const template = document.createElement('template');
  template.innerHTML = policy.createHTML(html);
  return template.content;
}

export const page = html => new DOMParser().parseFromString(policy.createHTML(html), 'text/html');
