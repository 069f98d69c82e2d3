// Writing not yet saved is kept in this browser, one entry a writing, and can be brought back after a crash or a
// choice.
import { sheet } from './sheet.js';
const shelf = () => `makeready ${sheet.base}`;

export function list() {
  try { return JSON.parse(localStorage.getItem(shelf()) ?? '[]'); } catch { return []; }
}
function put(entries) {
  try {
    entries.length ? localStorage.setItem(shelf(), JSON.stringify(entries.slice(-8)))
      : localStorage.removeItem(shelf());
    return true;
  } catch { return false; }
}
export const keep = entry =>
  put([...list().filter(e => e.id !== entry.id), { ...entry, at: new Date().toISOString() }]);
export const forget = id => put(list().filter(e => e.id !== id));

// Shows the entries with their two choices; the one being written just now is left out.
export function offer(bringBack) {
  const ul = document.getElementById('brought'), entries = list().filter(e => e.id !== sheet.passage?.id);
  ul.replaceChildren(...entries.map(entry => {
    const li = document.createElement('li'), when = new Date(entry.at);
    const button = (words, act) => {
      const b = document.createElement('button');
      b.type = 'button';
      b.className = 'do';
      b.textContent = words;
      b.onclick = act;
      return b;
    };
    const what = entry.aside ? 'A text you set aside' : 'Writing that was not saved';
    li.append(`${what}, from ${when.toLocaleString([], { dateStyle: 'medium', timeStyle: 'short' })}: `,
      button('bring it back', () => bringBack(entry)), ' ', button('discard', () => {
        forget(entry.id);
        offer(bringBack);
      }));
    return li;
  }));
  ul.hidden = !entries.length;
}
