// Two texts of one plan: shows where they differ, side by side, and asks which is to stand.
const dialog = document.getElementById('clash');

export function choose({ what, next, mine, theirs }) {
  const a = mine.split('\n'), b = theirs.split('\n');
  let top = 0, foot = 0;
  while (top < a.length && top < b.length && a[top] === b[top]) top++;
  while (foot < a.length - top && foot < b.length - top && a.at(-1 - foot) === b.at(-1 - foot)) foot++;
  fill('mine', a, top, foot, b); fill('theirs', b, top, foot, a);
  document.getElementById('clash-what').textContent =
    [what ?? 'Another text was saved while you were writing.', next].filter(Boolean).join(' ');
  document.getElementById('clash-same').textContent = top + foot
    ? `The same in both: ${lines(top)} before what is shown and ${lines(foot)} after it. `
      + 'Lines that differ are underlined.'
    : 'The two have no line in common at either end.';
  return new Promise(resolve => {
    const end = value => { dialog.onclose = dialog.onclick = null; if (dialog.open) dialog.close(); resolve(value); };
    dialog.onclick = e => { const b = e.target.closest('button[value]'); if (b) end(b.value); };
    dialog.onclose = () => end('later');
    dialog.showModal();
  });
}

const lines = n => n === 1 ? 'one line' : `${n} lines`;

function fill(id, own, top, foot, other) {
  const has = new Set(other.slice(top, other.length - foot)), pre = document.getElementById(id);
  pre.replaceChildren(...own.slice(top, own.length - foot).map(text => {
    const line = document.createElement(has.has(text) ? 'span' : 'mark');
    line.textContent = text || ' '; line.className = 'whole-line'; return line;
  }));
  if (!pre.childNodes.length) pre.textContent = 'nothing here';
}
