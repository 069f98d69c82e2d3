// Draws the bars of a list of steps from their dates, all on one length of time.
const day = text => Date.parse(`${text}T00:00:00Z`) / 864e5;

export function drawSteps(root) {
  for (const list of root.querySelectorAll('ol.steps')) {
    const steps = [...list.querySelectorAll(':scope > li[data-start]')].map(li => ({ li, from: day(li.dataset.start),
      to: day(li.dataset.end || li.dataset.start) + 1 })).filter(s => s.to > s.from);
    const first = Math.min(...steps.map(s => s.from)), whole = Math.max(...steps.map(s => s.to)) - first;
    for (const { li, from, to } of steps) {
      li.style.setProperty('--from', `${100 * (from - first) / whole}%`);
      li.style.setProperty('--long', `${100 * (to - from) / whole}%`);
    }
  }
}
